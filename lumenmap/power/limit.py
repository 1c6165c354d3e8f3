"""The limiter, frame by frame: codes whose amps, counted after rounding, keep every budget.

Strategy: quantise at full gain and count. Frames over a budget are scaled by what is left over
idle, rounded again and counted again; what is returned was counted from the returned codes. Light
is taken apart into channel planes once, since everything that follows runs quicker over planes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.planes import from_planes, to_planes
from lumenmap.power.budgets import Budgets

F = NDArray[np.float64]
Light = NDArray[np.float32]

#: First aim this far under the budget, so that rounding seldom pushes a frame over it.
_AIM = 0.9995
#: A budget is full here: a hair below 1, so that no rounding of the last digit goes over it.
_FULL = 1 - 1e-12
#: How near the budget a capped frame is to come (1 %, with something in hand).
_NEAR = 0.992
_TRIES = 24


@dataclass(frozen=True, slots=True, eq=False)
class Limited:
    """A limited block.

    Attributes
    ----------
    codes
        (T, N, C) uint8, canonical channel order.
    gain
        (T,) what the light was multiplied by, 1 or less.
    amps, wanted
        (T, K) A drawn by ``codes``, and what full gain would have drawn.
    """

    codes: NDArray[np.uint8]
    gain: F
    amps: F
    wanted: F


def limit(light: Light, budgets: Budgets) -> Limited:
    """Quantise light, dimming each frame as a whole just enough for the tightest budget.

    Parameters
    ----------
    light
        (T, N, C) float32, 0..1; values outside are clipped. Not changed.
    """
    scaled = to_planes(light)
    codes = np.rint(scaled)
    wanted = budgets.weigh(codes)
    gain = np.ones(len(light))
    over = budgets.fullness(wanted) > _FULL
    if not over.any():
        return Limited(from_planes(codes), gain, wanted, wanted)
    if over.all():
        codes, gain, amps = _fit(scaled, wanted, budgets)
    else:
        amps = wanted.copy()
        codes[:, over], gain[over], amps[over] = _fit(scaled[:, over], wanted[over], budgets)
    return Limited(from_planes(codes), gain, amps, wanted)


def _fit(scaled: Light, wanted: F, budgets: Budgets) -> tuple[Light, F, F]:
    """Find each frame's gain: (codes, gain, amps) of frames that are over at full gain."""
    most = budgets.gain_for(wanted)
    gain = most * _AIM
    codes = scaled * gain.astype(np.float32)[:, None]
    np.rint(codes, out=codes)
    amps = budgets.weigh(codes)
    full = budgets.fullness(amps)
    if (poor := (full > _FULL) | (full < _NEAR)).any():
        codes[:, poor], gain[poor], amps[poor] = _search(scaled[:, poor], most[poor], budgets)
    return codes, gain, amps


def _search(scaled: Light, most: F, budgets: Budgets) -> tuple[Light, F, F]:
    """Halve the interval to the largest gain that fits.

    Where all pixels show one dim colour, rounding moves them all at once and no gain comes near
    the budget; so each pixel has its own rounding threshold here, spread evenly over the line.
    """
    thresholds = spread_thresholds(scaled.shape[2], scaled.shape[0])
    # Black stays black, and no code goes over what full gain gives.
    ceiling = np.rint(scaled)
    low, high = np.zeros(len(most)), np.minimum(1.0, most * 1.02)
    best = np.zeros_like(scaled)
    amps = np.broadcast_to(budgets.idle, (len(most), len(budgets))).copy()
    for _ in range(_TRIES):
        middle = (low + high) / 2
        codes = scaled * middle.astype(np.float32)[:, None]
        codes = np.minimum(np.floor(codes + thresholds), ceiling)
        drawn = budgets.weigh(codes)
        fits = budgets.fullness(drawn) <= _FULL
        best[:, fits], amps[fits] = codes[:, fits], drawn[fits]
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
    return best, low, amps


def spread_thresholds(pixels: int, channels: int) -> Light:
    """Return rounding thresholds (C, 1, N) in 0..1, spread evenly over any stretch of pixels.

    Fractional parts of multiples of the golden ratio (Kronecker's sequence, the one of lowest
    discrepancy in one dimension [M]); channels are a part of a turn apart.
    """
    turn = np.arange(pixels) * 0.6180339887498949 + np.arange(channels)[:, None, None] / channels
    return (turn % 1.0).astype(np.float32)
