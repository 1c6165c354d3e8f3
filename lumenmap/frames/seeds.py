"""The seeds of layers: by what a layer is, not by where it stands among others.

So a layer that is put in front of others, or moved, leaves their random patterns as they are.
"""

from __future__ import annotations

import hashlib
from collections import Counter

from lumenmap.show.model import Layer, Show


def layer_seeds(show: Show) -> list[int]:
    """Return the seed of each layer, cue by cue.

    A layer's name chooses it; without one its effect, palette and places do, and of several that
    are alike, which of them it is.
    """
    seen: Counter[str] = Counter()
    seeds = []
    for cue in show.cues:
        for layer in cue.layers:
            what = _what(layer)
            text = f"{show.seed}|{what}|{seen[what]}"
            seen[what] += 1
            digest = hashlib.blake2b(text.encode(), digest_size=4).digest()
            seeds.append(int.from_bytes(digest, "little"))
    return seeds


def _what(layer: Layer) -> str:
    if layer.name:
        return f"name {layer.name}"
    return repr((layer.effect.name, layer.palette.name, layer.on, layer.within))
