"""Dithering: where a step of one code shows, use the two nearest codes by turns.

Of channels at 3.4 steps of 255 some are at 3 and some at 4, so that their mean is 3.4, and a slow
fade in the dark stays smooth. Strategy: each pixel rounds by a threshold of its own, far from those
of its neighbours. Where frames follow each other quickly enough the thresholds also take turns, in
so few frames that no pixel repeats itself slower than `SLOWEST_HZ`: a slower beat would be seen as
flicker. At 30 frames/s that leaves one frame, and only pixels differ from each other.

Which threshold is a pure function of frame and pixel, so any block of any show is the same wherever
and in whatever order it is made.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

#: Beats slower than this show in a lamp of low brightness, quicker ones merge: the eye's critical
#: fusion frequency in dim light is 20 to 25 Hz (Ferry-Porter law; figure from memory [M]).
SLOWEST_HZ = 25.0
#: From this code on a step is below 1.6 % of the light and doesn't show (Weber, 1 to 2 % [M]).
VISIBLE_BELOW = 64
#: A show of more frames a second may be sent in part, every second or third frame: E1.31 allows 44
#: (6.6.1 [P]). The thresholds take turns in as many frames, so that they then stand still.
SENT_HZ = 44.0
#: Multiples of the golden ratio leave the smallest gaps of any step in one dimension [M], so it is
#: the step of pixels. That of their turns is from the plastic number (real root of p³ = p + 1) [K].
_PIXEL_STEP = 0.6180339887498949
_SHIFT_STEP = 0.7548776662466927


def turn_frames(fps: float) -> int:
    """Return in how many frames the thresholds take turns; 1 if they stand still."""
    turns = max(1, math.ceil(fps / SENT_HZ - 1e-9))
    return turns if fps / turns >= SLOWEST_HZ - 1e-9 else max(1, turns - 1)


def thresholds(
    first: int, frames: int, pixels: int, channels: int, fps: float = SLOWEST_HZ
) -> NDArray[np.float32]:
    """Return rounding thresholds for frames from ``first``, 0 <= threshold < 1.

    They are (C, T, N), or (C, 1, N) where they are the same in all frames; read-only.

    The mean of ``floor(light + threshold)`` is light, over pixels and, as nearly as the frame rate
    allows, over frames; whole numbers don't change.
    """
    turns = turn_frames(fps)
    each = _each(pixels, channels, turns)
    return each if turns == 1 else each[:, np.arange(first, first + frames) % turns]


@lru_cache(maxsize=8)
def _each(pixels: int, channels: int, turns: int) -> NDArray[np.float32]:
    """Return the thresholds (C, turns, N) of one round of turns."""
    own = (np.arange(pixels) * _PIXEL_STEP + np.arange(channels)[:, None] / channels) % 1
    shift = np.floor(np.arange(pixels) * _SHIFT_STEP % 1 * turns)
    turn = (np.arange(turns)[:, None] + shift) % turns
    total = ((turn + own[:, None]) / turns).astype(np.float32)
    # Rounding to float32 may give exactly 1; keep whole codes whole, whatever the last digit is.
    below_one: NDArray[np.float32] = np.minimum(total, np.float32(1 - 2**-10))
    below_one.setflags(write=False)
    return below_one


def where_seen(steps: NDArray[np.float32], rounding: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return ``rounding`` where light in ``steps`` of one code is dim, and else plain rounding."""
    chosen: NDArray[np.float32] = np.where(steps < VISIBLE_BELOW, rounding, np.float32(0.5))
    return chosen


def dimmed(codes: NDArray[np.uint8], level: float, first: int, fps: float) -> NDArray[np.uint8]:
    """Return finished codes (T, S) times ``level`` 0..1, dithered; none is higher than before.

    For frames whose light is no longer known. Their codes may be dithered already, so slots use
    other thresholds than pixels do.
    """
    steps = codes * np.float32(level)
    turns = turn_frames(fps)
    own = np.arange(codes.shape[1]) * _SHIFT_STEP % 1
    turn = (np.arange(first, first + len(codes))[:, None] + np.arange(codes.shape[1])) % turns
    rounding = np.minimum(((turn + own) / turns).astype(np.float32), np.float32(1 - 2**-10))
    low = np.floor(steps + where_seen(steps, rounding)).astype(np.uint8)
    lower: NDArray[np.uint8] = np.minimum(low, codes)
    return lower
