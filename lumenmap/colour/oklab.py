"""OKLab and OKLCh (Björn Ottosson, "A perceptual color space for image processing", 2020)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lumenmap.colour.matrix import Matrix, times

F = NDArray[np.float64]

#: Linear sRGB to cone responses, cube-rooted cone responses to OKLab, and back, as published.
TO_LMS: Matrix = (
    (0.4122214708, 0.5363325363, 0.0514459929),
    (0.2119034982, 0.6806995451, 0.1073969566),
    (0.0883024619, 0.2817188376, 0.6299787005),
)
TO_LAB: Matrix = (
    (0.2104542553, 0.7936177850, -0.0040720468),
    (1.9779984951, -2.4285922050, 0.4505937099),
    (0.0259040371, 0.7827717662, -0.8086757660),
)
_FROM_LAB: Matrix = (
    (1.0, 0.3963377774, 0.2158037573),
    (1.0, -0.1055613458, -0.0638541728),
    (1.0, -0.0894841775, -1.2914855480),
)
_FROM_LMS: Matrix = (
    (4.0767416621, -3.3077115913, 0.2309699292),
    (-1.2684380046, 2.6097574011, -0.3413193965),
    (-0.0041960863, -0.7034186147, 1.7076147010),
)


def from_linear(rgb: ArrayLike) -> F:
    """Return OKLab (..., 3) of linear sRGB (..., 3)."""
    return times(TO_LAB, np.cbrt(times(TO_LMS, rgb)))


def to_linear(lab: ArrayLike) -> F:
    """Return linear sRGB (..., 3) of OKLab (..., 3); outside 0..1 where sRGB can't show it."""
    return times(_FROM_LMS, times(_FROM_LAB, lab) ** 3)


def to_lch(lab: ArrayLike) -> F:
    """Return lightness, chroma and hue (degrees, 0..360) of a Lab (..., 3)."""
    v = np.asarray(lab, np.float64)
    hue = np.degrees(np.arctan2(v[..., 2], v[..., 1])) % 360
    return np.stack([v[..., 0], np.hypot(v[..., 1], v[..., 2]), hue], -1)


def from_lch(lch: ArrayLike) -> F:
    """Return the Lab of lightness, chroma and hue (degrees)."""
    v = np.asarray(lch, np.float64)
    turn = np.radians(v[..., 2])
    return np.stack([v[..., 0], v[..., 1] * np.cos(turn), v[..., 1] * np.sin(turn)], -1)
