"""CIEDE2000: how different two colours look, 1 being about the least that is seen.

Source: CIE 142-2001; the formulas as G. Sharma, W. Wu, E. N. Dalal write them in "The CIEDE2000
Color-Difference Formula: Implementation Notes, Supplementary Test Data, and Mathematical
Observations", Color Research and Application 30(1), 2005 [M].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lumenmap.colour.matrix import SRGB_TO_XYZ, times

F = NDArray[np.float64]


def cielab(rgb: ArrayLike) -> F:
    """Return CIE L*, a*, b* (..., 3) of linear sRGB (..., 3), relative to its own white."""
    xyz = times(SRGB_TO_XYZ, rgb) / times(SRGB_TO_XYZ, (1.0, 1.0, 1.0))
    f = np.where(xyz > 216 / 24389, np.cbrt(xyz), (24389 / 27 * xyz + 16) / 116)
    x, y, z = np.moveaxis(f, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], -1)


def ciede2000(one: ArrayLike, other: ArrayLike) -> F:
    """Return the difference (...) of two CIE L*, a*, b* (..., 3)."""
    l1, a1, b1 = np.moveaxis(np.asarray(one, np.float64), -1, 0)
    l2, a2, b2 = np.moveaxis(np.asarray(other, np.float64), -1, 0)
    seventh = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    more = 1 + (1 - np.sqrt(seventh / (seventh + 25.0**7))) / 2
    c1, c2 = np.hypot(more * a1, b1), np.hypot(more * a2, b2)
    h1, h2 = (np.degrees(np.arctan2(b, more * a)) % 360 for a, b in ((a1, b1), (a2, b2)))
    grey = c1 * c2 == 0
    turn = np.where(grey, 0.0, (h2 - h1 + 180) % 360 - 180)
    far = np.abs(h1 - h2) > 180
    middle = (h1 + h2) / 2 + np.where(far, np.where(h1 + h2 < 360, 180.0, -180.0), 0.0)
    hue = np.where(grey, h1 + h2, middle)
    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    weight = _hue_weight(hue)
    s_light = 1 + 0.015 * (light - 50) ** 2 / np.sqrt(20 + (light - 50) ** 2)
    s_chroma, s_hue = 1 + 0.045 * chroma, 1 + 0.015 * chroma * weight
    d_light, d_chroma = (l2 - l1) / s_light, (c2 - c1) / s_chroma
    d_hue = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2)) / s_hue
    across = d_chroma * d_hue * _rotation(hue, chroma)
    return np.asarray(np.sqrt(np.maximum(d_light**2 + d_chroma**2 + d_hue**2 + across, 0)))


def _hue_weight(hue: F) -> F:
    terms = ((-0.17, 1, -30), (0.24, 2, 0), (0.32, 3, 6), (-0.20, 4, -63))
    return np.asarray(1 + sum(k * np.cos(np.radians(n * hue + off)) for k, n, off in terms))


def _rotation(hue: F, chroma: F) -> F:
    seventh = chroma**7
    size = 2 * np.sqrt(seventh / (seventh + 25.0**7))
    return np.asarray(-np.sin(np.radians(60 * np.exp(-(((hue - 275) / 25) ** 2)))) * size)
