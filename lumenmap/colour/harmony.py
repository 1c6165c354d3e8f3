"""Palettes made from one colour and a harmony, or from a photograph; both in OKLab."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour import css, oklab
from lumenmap.colour.transfer import to_linear, to_srgb
from lumenmap.core.errors import InputError, unknown

F = NDArray[np.float64]

#: Name to the hues it adds to the base (degrees).
HARMONIES = {
    "complement": (0, 180),
    "neighbours": (-40, -20, 0, 20, 40),
    "triad": (0, 120, 240),
    "square": (0, 90, 180, 270),
    "split": (0, 150, 210),
    "shades": (0, 0, 0, 0),
}
_SIDE = 160


def harmony(base: str, name: str) -> list[str]:
    """Return CSS colours, the base first: hues turned in OKLCh, or its shades.

    Raises
    ------
    InputError
        No colour, or no such harmony.
    """
    if name not in HARMONIES:
        raise InputError(unknown("harmony", name, HARMONIES, plural="Harmonies"))
    light, chroma, hue = oklab.to_lch(oklab.from_linear(np.clip(css.colour(base), 0, 1)))
    turns = HARMONIES[name]
    if name == "shades":
        lights = np.linspace(light, max(0.3, light - 0.45), len(turns))
        return [hex_of(oklab.from_lch([v, chroma * v / max(light, 1e-6), hue])) for v in lights]
    ordered = sorted(turns, key=lambda turn: (turn != 0, turn))
    return [hex_of(oklab.from_lch([light, chroma, hue + turn])) for turn in ordered]


def hex_of(lab: F) -> str:
    """Return the nearest ``#rrggbb`` of an OKLab colour: its chroma is lowered until it fits."""
    light, chroma, hue = oklab.to_lch(lab)
    low, high = 0.0, chroma
    if not _fits(oklab.to_linear(lab)):
        for _ in range(30):
            middle = (low + high) / 2
            fits = _fits(oklab.to_linear(oklab.from_lch([light, middle, hue])))
            low, high = (middle, high) if fits else (low, middle)
        lab = oklab.from_lch([light, low, hue])
    codes = np.rint(255 * np.clip(to_srgb(oklab.to_linear(lab)), 0, 1)).astype(int)
    return "#" + "".join(f"{v:02x}" for v in codes)


def _fits(rgb: F) -> bool:
    return bool((rgb > -1e-4).all() and (rgb < 1 + 1e-4).all())


def from_photo(path: Path, count: int) -> list[str]:
    """Return the ``count`` colours that best stand for a photograph, in order of hue.

    Groups its colours in OKLab (k-means). The result depends on the picture only.

    Raises
    ------
    InputError
        Not a picture that can be read.
    """
    from PIL import Image, UnidentifiedImageError
    from scipy.cluster.vq import kmeans2

    try:
        with Image.open(path) as image:
            image.draft("RGB", (_SIDE * 2, _SIDE * 2))
            image.thumbnail((_SIDE, _SIDE))
            codes = np.asarray(image.convert("RGB")).reshape(-1, 3)
    except FileNotFoundError:
        raise InputError("no such picture", file=path) from None
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError):
        raise InputError("is no picture that can be read", file=path) from None
    lab = oklab.from_linear(to_linear(codes / 255))
    # The darkest parts would be pixels switched off: what is lit is what stands for a picture.
    lit = lab[lab[:, 0] > 0.25] if (lab[:, 0] > 0.25).sum() > 4 * count else lab
    # Begin with colours that are far from each other, the first the most vivid.
    chroma = np.hypot(lit[:, 1], lit[:, 2])
    start = [lit[int(np.argmax(chroma))]]
    while len(start) < count:
        gap = np.min([((lit - c) ** 2).sum(-1) for c in start], axis=0)
        start.append(lit[int(np.argmax(gap))])
    centres, _ = kmeans2(lit, np.array(start), minit="matrix", iter=25, missing="warn")
    lch = oklab.to_lch(centres)
    return [hex_of(centres[i]) for i in np.lexsort((lch[:, 0], lch[:, 2]))]
