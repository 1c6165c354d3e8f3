"""Channel planes: light as (C, T, N) in steps of one code, and whole codes back to (T, N, C) bytes.

Arithmetic on a plane runs along all pixels at once; on interleaved channels it stops at every
third number. The conversions cost less than they save.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FULL = np.float32(255)


def to_planes(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return light (T, N, C), 0..1, as planes (C, T, N), 0..255; values outside are clipped."""
    planes = np.empty((light.shape[2], *light.shape[:2]), np.float32)
    np.copyto(planes, np.moveaxis(light, 2, 0))
    planes *= FULL
    # Finding the extremes costs less than clipping, and light is seldom outside.
    if planes.size and (planes.max() > FULL or planes.min() < 0):
        np.clip(planes, 0, FULL, out=planes)
    return planes


def from_planes(whole: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Return planes (C, T, N) of whole numbers 0..255 as codes (T, N, C)."""
    narrow = whole.astype(np.uint8)
    codes = np.empty((*whole.shape[1:], whole.shape[0]), np.uint8)
    for channel, plane in enumerate(narrow):
        codes[..., channel] = plane
    return codes
