"""``[defaults]``: what every cue and layer of a show has unless it says otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from lumenmap.core.errors import InputError, Mistakes, together
from lumenmap.core.toml.keys import key_text
from lumenmap.core.toml.meant import meant
from lumenmap.show.effects.effect import Effect
from lumenmap.show.layer_file import LAYER_KEYS


def with_defaults(raw: dict[str, Any], path: Path, known: Mapping[str, Effect]) -> dict[str, Any]:
    """Return a show file's tables with its defaults written into each cue and layer.

    A key that is an option of effects goes to the layers whose effect has it.

    Raises
    ------
    InputError
        A key that is neither a layer's nor an option of any effect.
    """
    table = raw.get("defaults")
    cues = raw.get("cue")
    if not isinstance(table, dict) or not table or not isinstance(cues, list):
        return raw
    own = set(LAYER_KEYS)
    mistakes = Mistakes()
    others = [key for key in table if key != "cue" and key not in own]
    options = {name for effect in known.values() for name in effect.options} if others else set()
    for key in others:
        with mistakes.gathered(path, f"defaults.{key}"):
            if key not in options:
                hint = meant(key, sorted(own | options)) or "."
                raise InputError(f"no layer has such a key, and no effect such an option{hint}")
    mistakes.raise_all()
    cue_defaults = table.get("cue") if isinstance(table.get("cue"), dict) else {}
    return {**raw, "cue": [_cue(cue, cue_defaults or {}, table, own, known) for cue in cues]}


def blamed(error: InputError, raw: dict[str, Any], filled: dict[str, Any]) -> InputError:
    """Return an error about what a default wrote into layers as one about the default.

    Parameters
    ----------
    raw, filled
        The show file's tables without its defaults, and with them.
    """
    written = dict(_written(raw, filled))

    def one(mistake: InputError) -> InputError:
        for key, default in written.items():
            if mistake.key == key or mistake.key.startswith((f"{key}.", f"{key} ")):
                inner = mistake.key.removeprefix(key)
                return InputError(mistake.message, file=mistake.file, key=f"{default}{inner}")
        return mistake

    return together([one(mistake) for mistake in error.each])


def _written(raw: dict[str, Any], filled: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield the key of each value that a default wrote, and the default's."""
    cues = raw.get("cue")
    for i, cue in enumerate(cues if isinstance(cues, list) else ()):
        if not isinstance(cue, dict):
            continue
        full = filled["cue"][i]
        for key in full.keys() - cue.keys():
            yield key_text(("cue", i, key), filled), f"defaults.cue.{key}"
        layers = cue.get("layer")
        for j, layer in enumerate(layers if isinstance(layers, list) else ()):
            if isinstance(layer, dict):
                for key in full["layer"][j].keys() - layer.keys():
                    yield key_text(("cue", i, "layer", j, key), filled), f"defaults.{key}"


def _cue(
    cue: Any,
    defaults: Mapping[str, Any],
    table: Mapping[str, Any],
    own: set[str],
    known: Mapping[str, Effect],
) -> Any:
    if not isinstance(cue, dict):
        return cue
    made = {**defaults, **cue}
    if isinstance(layers := cue.get("layer"), list):
        made["layer"] = [_layer(layer, table, own, known) for layer in layers]
    return made


def _layer(layer: Any, table: Mapping[str, Any], own: set[str], known: Mapping[str, Effect]) -> Any:
    if not isinstance(layer, dict):
        return layer
    effect = known.get(str(layer.get("effect", table.get("effect", ""))))
    takes = own | set(effect.options if effect else ())
    return {**{k: v for k, v in table.items() if k in takes and k != "cue"}, **layer}
