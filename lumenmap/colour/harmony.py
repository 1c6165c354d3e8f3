"""Palettes made from one colour and a harmony, or from a photograph; both in OKLab."""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour import css, oklab
from lumenmap.colour.transfer import to_linear, to_srgb
from lumenmap.core.errors import InputError, unknown
from lumenmap.core.images import opened

F = NDArray[np.float64]

#: Name to the hue angles added to the base (degrees); 0 where the colours differ in another way.
HARMONIES = {
    "complement": (0, 180),
    "neighbours": (0, 0, 0, 0, 0),
    "triad": (0, 120, 240),
    "square": (0, 90, 180, 270),
    "split": (0, 150, 210),
    "shades": (0, 0, 0, 0),
}
_SIDE = 160


#: OKLab distance between neighbours: clearly different, but still related (chosen by eye on a
#: screen; about 0.02 is just noticeable side by side).
_APART = 0.09


def harmony(base: str, name: str, *, lift: bool = True) -> list[str]:
    """Return CSS colours, the base first: other hues, or paler shades, as far from white as it is.

    Parameters
    ----------
    lift
        Make each as bright as LEDs can show it: its largest channel full. A dark colour is brown
        or olive on a screen, but only dim on LEDs. Otherwise each is as bright as the base: its
        largest channel is the same.

    Raises
    ------
    InputError
        Not a colour, or no such harmony.
    """
    if name not in HARMONIES:
        raise InputError(unknown("harmony", name, HARMONIES, plural="Harmonies"))
    light = np.clip(css.colour(base), 0, 1)
    peak = float(light.max())
    if peak == 0:
        raise InputError(f'"{base[:40]}" is black; expected the colour of a light')
    level = 1.0 if lift else peak
    _, chroma, hue = oklab.to_lch(oklab.from_linear(light / peak))
    vivid = min(1.0, _ratio(light / peak) / max(_most(hue), 1e-9)) if chroma > 0.004 else 0.0
    if name == "shades":
        made = _shades(light / peak, hue, vivid)
    else:
        turns = sorted(HARMONIES[name], key=lambda turn: (turn != 0, turn))
        hues = _neighbours(hue, vivid) if name == "neighbours" else [hue + t for t in turns]
        made = [light / peak, *(_at(h, vivid) for h in hues[1:])]
    return [_hex(level * rgb) for rgb in made]


def _shades(full: F, hue: float, vivid: float) -> list[F]:
    """Return a colour and three of its hue, deeper and paler, well apart; a white one is dimmed."""
    if vivid == 0:
        return [full * v for v in (1.0, 0.5, 0.2, 0.05)]
    parts = np.linspace(1.0, 0.1, 46)
    path = [_at(hue, part) for part in parts]
    labs = oklab.from_linear(np.stack(path))
    chosen: list[int] = []
    gaps = np.linalg.norm(labs - oklab.from_linear(full), axis=1)
    for _ in range(3):  # each as far as possible from those before
        chosen.append(int(np.argmax(gaps)))
        gaps = np.minimum(gaps, np.linalg.norm(labs - labs[chosen[-1]], axis=1))
    return [full, *(path[i] for i in sorted(chosen))]


def _neighbours(hue: float, vivid: float) -> list[float]:
    """Return the hue and two on either side of it, each `_APART` from the next in OKLab."""
    turns = np.arange(-170.0, 171.0)
    path = oklab.from_linear(np.stack([_at(hue + turn, vivid) for turn in turns]))
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    middle = run[len(run) // 2]
    return [
        hue + float(np.interp(middle + k * _APART, run, turns)) if run[-1] > 0 else hue
        for k in (0, -2, -1, 1, 2)
    ]


def _at(hue: float, vivid: float) -> F:
    """Return the full linear colour of a hue (degrees) with a part of the chroma it can have."""
    return _full(oklab.to_linear(oklab.from_lch([1.0, vivid * _most(hue), hue])))


def _most(hue: float) -> float:
    """Return the largest chroma per lightness of a hue in sRGB: there a channel is 0.

    OKLab of a light k times as strong is OKLab times the cube root of k, so that the ratio and the
    hue say all of a colour but its strength.
    """
    low, high = 0.0, 2.0
    for _ in range(40):
        middle = (low + high) / 2
        fits = bool((oklab.to_linear(oklab.from_lch([1.0, middle, hue])) >= 0).all())
        low, high = (middle, high) if fits else (low, middle)
    return low


def _ratio(rgb: F) -> float:
    light, chroma, _ = oklab.to_lch(oklab.from_linear(rgb))
    return float(chroma / light)


def _full(rgb: F) -> F:
    clipped = np.clip(rgb, 0, None)
    return np.asarray(clipped / clipped.max())


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
    return _hex(oklab.to_linear(lab))


def _hex(rgb: F) -> str:
    codes = np.rint(255 * np.clip(to_srgb(np.clip(rgb, 0, 1)), 0, 1)).astype(int)
    return "#" + "".join(f"{v:02x}" for v in codes)


def _fits(rgb: F) -> bool:
    return bool((rgb > -1e-4).all() and (rgb < 1 + 1e-4).all())


def from_photo(path: Path, count: int) -> list[str]:
    """Return the ``count`` colours that best represent a photograph, in order of hue.

    Groups its colours in OKLab (k-means). The result depends on the picture only.

    Raises
    ------
    InputError
        Not a picture that can be read.
    """
    from scipy.cluster.vq import kmeans2

    try:
        with opened(path) as image:
            image.draft("RGB", (_SIDE * 2, _SIDE * 2))
            image.thumbnail((_SIDE, _SIDE))
            codes = np.asarray(image.convert("RGB")).reshape(-1, 3)
    except FileNotFoundError:
        raise InputError("no such file", file=path) from None
    lab = oklab.from_linear(to_linear(codes / 255))
    # The darkest parts would be pixels that are off: the lit parts represent the picture.
    lit = lab[lab[:, 0] > 0.25] if (lab[:, 0] > 0.25).sum() > 4 * count else lab
    # Begin with colours that are far from each other, the first the most vivid.
    chroma = np.hypot(lit[:, 1], lit[:, 2])
    start = [lit[int(np.argmax(chroma))]]
    while len(start) < count:
        gap = np.min([((lit - c) ** 2).sum(-1) for c in start], axis=0)
        start.append(lit[int(np.argmax(gap))])
    with warnings.catch_warnings():
        # A picture of fewer colours leaves a group empty; it keeps the colour it began with.
        warnings.simplefilter("ignore", UserWarning)
        centres, _ = kmeans2(lit, np.array(start), minit="matrix", iter=25, missing="warn")
    lch = oklab.to_lch(centres)
    return [hex_of(centres[i]) for i in np.lexsort((lch[:, 0], lch[:, 2]))]
