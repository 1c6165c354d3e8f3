"""The limiter, frame by frame: codes whose amps, counted after rounding, keep every budget.

Strategy: quantise at full gain and count. Frames over a budget are scaled by what is left over
idle, rounded again and counted again; what is returned was counted from the returned codes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.pack import pack
from lumenmap.power.budgets import Budgets

F = NDArray[np.float64]
Light = NDArray[np.float32]

#: First aim this far under the budget, so that rounding seldom pushes a frame over it.
_AIM = 0.9995
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
        (T, N, C) float32, 0..1; values outside are clipped. A view of padded pixels is taken
        padded, which is quicker. Not changed.
    """
    channels = light.shape[2]
    scaled = np.multiply(whole_pixels(light), np.float32(255))
    np.clip(scaled, 0, 255, out=scaled)
    codes = np.rint(scaled)
    wanted = budgets.weigh(codes)
    gain = np.ones(len(light))
    over = np.flatnonzero((wanted > budgets.amps).any(axis=1))
    if not len(over):
        return Limited(pack(codes, channels), gain, wanted, wanted)
    amps = wanted.copy()
    codes[over], gain[over], amps[over] = _fit(scaled[over], wanted[over], budgets)
    return Limited(pack(codes, channels), gain, amps, wanted)


def whole_pixels(light: Light) -> Light:
    """Return the padded (T, N, 4) array that ``light`` is the first channels of, or ``light``."""
    base = light.base
    frames, pixels, channels = light.shape
    if (
        channels == 3
        and isinstance(base, np.ndarray)
        and light.strides == (16 * pixels, 16, 4)
        and base.dtype == np.float32
        and base.flags.c_contiguous
        and base.size == frames * pixels * 4
        and base.__array_interface__["data"][0] == light.__array_interface__["data"][0]
    ):
        return base.reshape(frames, pixels, 4)
    return light


def _fit(scaled: Light, wanted: F, budgets: Budgets) -> tuple[Light, F, F]:
    """Find each frame's gain: (codes, gain, amps) of frames that are over at full gain."""
    room = budgets.amps - budgets.idle
    with np.errstate(divide="ignore"):
        high = np.min(room / np.maximum(wanted - budgets.idle, 1e-300), axis=1)
    gain = high * _AIM
    codes = np.rint(scaled * gain.astype(np.float32)[:, None, None])
    amps = budgets.weigh(codes)
    if (poor := _poor(amps, budgets)).any():
        codes[poor], gain[poor], amps[poor] = _search(scaled[poor], high[poor], budgets)
    return codes, gain, amps


def _fullness(amps: F, budgets: Budgets) -> F:
    """How full the fullest budget is: 1 at its limit."""
    fullest: F = np.max(amps / np.maximum(budgets.amps, 1e-300), axis=1)
    return fullest


def _poor(amps: F, budgets: Budgets) -> NDArray[np.bool_]:
    return (amps > budgets.amps).any(axis=1) | (_fullness(amps, budgets) < _NEAR)


def _search(scaled: Light, high: F, budgets: Budgets) -> tuple[Light, F, F]:
    """Halve the interval to the largest gain that fits.

    Where all pixels show one dim colour, rounding moves them all at once and no gain comes near
    the budget; so each pixel has its own rounding threshold here, spread evenly over the line.
    """
    thresholds = spread_thresholds(scaled.shape[1], scaled.shape[2])
    low, high = np.zeros(len(high)), np.minimum(1.0, high * 1.02)
    best = np.zeros_like(scaled)
    amps = np.broadcast_to(budgets.idle, (len(high), len(budgets))).copy()
    for _ in range(_TRIES):
        middle = (low + high) / 2
        codes = scaled * middle.astype(np.float32)[:, None, None]
        # Black stays black, and no code goes over what full gain gives.
        codes = np.minimum(np.floor(codes + thresholds), np.rint(scaled))
        drawn = budgets.weigh(codes)
        fits = (drawn <= budgets.amps).all(axis=1)
        best[fits], amps[fits] = codes[fits], drawn[fits]
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
    return best, low, amps


def spread_thresholds(pixels: int, stride: int) -> Light:
    """Return rounding thresholds (N, stride) in 0..1, spread evenly over any stretch of pixels.

    Fractional parts of multiples of the golden ratio (Kronecker's sequence, the one of lowest
    discrepancy in one dimension [M]); channels are a third of a turn apart.
    """
    turn = np.arange(pixels)[:, None] * 0.6180339887498949 + np.arange(stride) / 3
    return (turn % 1.0).astype(np.float32)
