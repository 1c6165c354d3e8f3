"""Predictors: what a pixel's codes are likely to be, from what a decoder already has.

A decoder keeps one frame buffer and overwrites it pixel by pixel, so that at pixel ``i`` it holds
the new frame before ``i`` and the old frame from ``i`` on; two overwritten pixels are kept aside.
All predictors are made of these. c/FORMAT.md lists them; the order is part of the format.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Codes = NDArray[np.int16]

#: Predictors there are: the numbers 0 to 12 of the format.
PREDICTORS = 13


def _moved(frames: Codes, by: int) -> Codes:
    """Return at pixel i what stands at i - by, and 0 beyond the ends."""
    out = np.zeros_like(frames)
    if by > 0:
        out[:, by:] = frames[:, :-by]
    else:
        out[:, :by] = frames[:, -by:]
    return out


def before(frames: Codes, segment: int) -> Codes:
    """Return each frame's predecessor: black for the first of a segment."""
    old = np.zeros_like(frames)
    old[1:] = frames[:-1]
    old[::segment] = 0
    return old


def predictions(new: Codes, old: Codes) -> list[Codes]:
    """Return all predictors' values.

    Parameters
    ----------
    new, old
        (T, N, C) int16: the frames, and each one's predecessor.
    """
    left, left2 = _moved(new, 1), _moved(new, 2)
    here, was, was2, ahead = old, _moved(old, 1), _moved(old, 2), _moved(old, -1)
    low, high = np.minimum(here, left), np.maximum(here, left)
    plane = here + left - was

    def codes(value: Codes) -> Codes:
        return np.clip(value, 0, 255)

    return [
        here,
        left,
        codes(plane),
        (here + left + 1) >> 1,
        was,
        ahead,
        (was + here + 1) >> 1,
        (ahead + here + 1) >> 1,
        codes(left + ahead - here),
        codes(left + was - was2),
        codes(2 * left - left2),
        np.clip(plane, low, high),
        codes(here + ((left - was) >> 1)),
    ]
