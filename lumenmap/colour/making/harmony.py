"""Palettes made from one colour and a harmony, in OKLab."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour import css, oklab
from lumenmap.colour.transfer import to_srgb
from lumenmap.core.errors import InputError, unknown

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
    vivid = (
        min(1.0, _ratio(light / peak) / max(float(most_vivid(hue)), 1e-9))
        if chroma > 0.004
        else 0.0
    )
    if name == "shades":
        made = _shades(light / peak, hue, vivid)
    else:
        turns = sorted(HARMONIES[name], key=lambda turn: (turn != 0, turn))
        hues = _neighbours(hue, vivid) if name == "neighbours" else [hue + t for t in turns]
        made = [light / peak, *(_at(h, vivid) for h in hues[1:])]
    return [hex_code(level * rgb) for rgb in made]


def _shades(full: F, hue: float, vivid: float) -> list[F]:
    """Return a colour and three of its hue, deeper and paler, well apart; a white one is dimmed."""
    if vivid == 0:
        return [full * v for v in (1.0, 0.5, 0.2, 0.05)]
    parts = np.linspace(1.0, 0.1, 46)
    path = _at(hue, parts)
    labs = oklab.from_linear(path)
    chosen: list[int] = []
    gaps = np.linalg.norm(labs - oklab.from_linear(full), axis=1)
    for _ in range(3):  # each as far as possible from those before
        chosen.append(int(np.argmax(gaps)))
        gaps = np.minimum(gaps, np.linalg.norm(labs - labs[chosen[-1]], axis=1))
    return [full, *(path[i] for i in sorted(chosen))]


def _neighbours(hue: float, vivid: float) -> list[float]:
    """Return the hue and two on either side of it, each `_APART` from the next in OKLab."""
    turns = np.arange(-170.0, 171.0)
    path = oklab.from_linear(_at(hue + turns, vivid))
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    middle = run[len(run) // 2]
    return [
        hue + float(np.interp(middle + k * _APART, run, turns)) if run[-1] > 0 else hue
        for k in (0, -2, -1, 1, 2)
    ]


def _at(hue: F | float, vivid: F | float) -> F:
    """Return the full linear colours of hues (degrees) with a part of the chroma they can have."""
    hue, vivid = np.broadcast_arrays(np.asarray(hue, float), np.asarray(vivid, float))
    lch = np.stack([np.ones(hue.shape), vivid * most_vivid(hue), hue], -1)
    return _full(oklab.to_linear(oklab.from_lch(lch)))


def most_vivid(hue: F | float) -> F:
    """Return the largest chroma per lightness of hues in sRGB: there a channel is 0.

    OKLab of a light k times as strong is OKLab times the cube root of k, so that the ratio and the
    hue say all of a colour but its strength.
    """
    hue = np.asarray(hue, float)
    low, high = np.zeros(hue.shape), np.full(hue.shape, 2.0)
    for _ in range(40):
        middle = (low + high) / 2
        lch = np.stack([np.ones(hue.shape), middle, hue], -1)
        fits = (oklab.to_linear(oklab.from_lch(lch)) >= 0).all(-1)
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
    return low


def _ratio(rgb: F) -> float:
    light, chroma, _ = oklab.to_lch(oklab.from_linear(rgb))
    return float(chroma / light)


def _full(rgb: F) -> F:
    clipped = np.clip(rgb, 0, None)
    return np.asarray(clipped / clipped.max(axis=-1, keepdims=True))


def hex_code(rgb: F) -> str:
    """Return linear sRGB 0..1 as ``#rrggbb``."""
    codes = np.rint(255 * np.clip(to_srgb(np.clip(rgb, 0, 1)), 0, 1)).astype(int)
    return "#" + "".join(f"{v:02x}" for v in codes)
