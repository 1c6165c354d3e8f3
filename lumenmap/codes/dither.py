"""Dither in time: where a code's step shows, show the two nearest codes in turn.

A channel at 3.4 steps of 255 is 3 in some frames and 4 in others, so that over a few frames the
eye sees 3.4, and a slow fade in the dark stays smooth. Which frames is a pure function of frame and
pixel, so any block of any show comes out the same wherever and in whichever order it is made.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

#: Multiples of the golden ratio leave the smallest gaps of any step in one dimension [M], so frames
#: take it; pixels take the plastic number (real root of p³ = p + 1), unrelated to it [K].
FRAME_STEP = 0.6180339887498949
PIXEL_STEP = 0.7548776662466927


def thresholds(first: int, frames: int, pixels: int, channels: int) -> NDArray[np.float32]:
    """Return rounding thresholds for frames ``first`` on: (C, T, N), 0 <= threshold < 1.

    ``floor(light + threshold)`` has light as its mean, over pixels and over frames; whole numbers
    stay as they are.
    """
    along = (np.arange(pixels) * PIXEL_STEP) % 1
    time = (np.arange(first, first + frames) * FRAME_STEP) % 1
    turn = np.arange(channels) / channels
    total = ((time[:, None] + along) + turn[:, None, None]).astype(np.float32)
    total -= np.floor(total)
    # Rounding to float32 may give exactly 1 before the floor, never after it; keep whole codes
    # whole whatever the last digit does.
    return np.minimum(total, np.float32(1 - 2**-10))
