"""Temporal dithering: where a step of one code shows, alternate the two nearest codes.

A channel at 3.4 steps of 255 is 3 in some frames and 4 in others, so that over a few frames the
eye sees 3.4, and a slow fade in the dark stays smooth. Which frames is a pure function of frame and
pixel, so any block of any show is the same wherever and in whatever order it is made.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

#: Multiples of the golden ratio leave the smallest gaps of any step in one dimension [M], so it is
#: the step of frames. That of pixels is from the plastic number (real root of p³ = p + 1) [K].
FRAME_STEP = 0.6180339887498949
PIXEL_STEP = 0.7548776662466927


def thresholds(first: int, frames: int, pixels: int, channels: int) -> NDArray[np.float32]:
    """Return rounding thresholds (C, T, N) for frames from ``first``, 0 <= threshold < 1.

    The mean of ``floor(light + threshold)`` is light, over pixels and over frames; whole numbers
    don't change.
    """
    along = (np.arange(pixels) * PIXEL_STEP) % 1
    time = (np.arange(first, first + frames) * FRAME_STEP) % 1
    turn = np.arange(channels) / channels
    total = ((time[:, None] + along) + turn[:, None, None]).astype(np.float32)
    total -= np.floor(total)
    # Rounding to float32 may give exactly 1 before the floor; keep whole codes whole, whatever the
    # last digit is.
    return np.minimum(total, np.float32(1 - 2**-10))
