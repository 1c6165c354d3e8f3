"""Whole float numbers to bytes, dropping the padding of padded pixels on the way."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def pack(whole: NDArray[np.float32], channels: int) -> NDArray[np.uint8]:
    """Return the first ``channels`` of (T, N, stride) whole numbers 0..255 as (T, N, C) uint8."""
    return np.ascontiguousarray(whole.astype(np.uint8)[..., :channels])
