"""Between screen colours and linear light: the sRGB transfer function (IEC 61966-2-1)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

F = NDArray[np.float64]


def to_linear(srgb: ArrayLike) -> F:
    """Return linear light of sRGB values; any shape, 0..1 (mirrored below 0, as CSS Color 4)."""
    v = np.asarray(srgb, np.float64)
    a = np.abs(v)
    return np.where(a <= 0.04045, v / 12.92, np.copysign(((a + 0.055) / 1.055) ** 2.4, v))


def to_srgb(linear: ArrayLike) -> F:
    """Return sRGB values of linear light; the inverse of `to_linear`."""
    v = np.asarray(linear, np.float64)
    a = np.abs(v)
    return np.where(a <= 0.0031308, v * 12.92, np.copysign(1.055 * a ** (1 / 2.4) - 0.055, v))
