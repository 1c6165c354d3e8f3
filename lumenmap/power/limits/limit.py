"""The limiter: codes whose amps, counted after rounding, keep every budget.

Strategy: quantise, count, and where a frame is over a budget scale it by what is left over idle,
round and count again; what is returned was counted from the returned codes. Light is taken apart
into channel planes once, since everything that follows runs quicker over planes. `Limiter` adds
gains that are planned over the whole show.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.dither import thresholds
from lumenmap.codes.planes import from_planes, to_planes
from lumenmap.codes.white import split_white
from lumenmap.power.limits.budgets import Budgets

F = NDArray[np.float64]
Planes = NDArray[np.float32]

#: First aim this far under the budget, so that rounding seldom pushes a frame over it.
AIM = 0.9995
#: A budget is full here: a hair below 1, so that no rounding of the last digit goes over it.
FULL = 1 - 1e-12
#: How near the budget a capped frame is to come (1 %, with something in hand).
NEAR = 0.992
_TRIES = 24


@dataclass(frozen=True, slots=True, eq=False)
class Limited:
    """A limited block.

    Attributes
    ----------
    codes
        (T, N, C) uint8, canonical channel order.
    gain
        (T,) what the light was multiplied by, 1 or less; or (T, Z) for each zone of the house.
    amps, wanted
        (T, K) A drawn by ``codes``, and what full gain would have drawn.
    """

    codes: NDArray[np.uint8]
    gain: F
    amps: F
    wanted: F

    def __repr__(self) -> str:
        """Say how much was limited, in one line."""
        frames, pixels = self.codes.shape[:2]
        return f"<Limited: {frames} frames of {pixels} pixels, gain {self.gain.min():.2f} or more>"


def limit(light: NDArray[np.float32], budgets: Budgets) -> Limited:
    """Quantise light, dimming each frame as a whole just enough for the tightest budget.

    Parameters
    ----------
    light
        (T, N, C) float32, 0..1; values outside are clipped. Not changed. Three channels for
        pixels of four are red, green and blue, whose shared part goes to the white die.
    """
    scaled = to_planes(in_channels(light, budgets))
    codes = np.rint(scaled)
    wanted = budgets.weigh(codes)
    gain = np.ones(len(light))
    over = budgets.utilisation(wanted) > FULL
    if not over.any():
        return Limited(from_planes(codes), gain, wanted, wanted)
    if over.all():
        codes, gain, amps = _fit(scaled, wanted, budgets)
    else:
        amps = wanted.copy()
        codes[:, over], gain[over], amps[over] = _fit(scaled[:, over], wanted[over], budgets)
    return Limited(from_planes(codes), gain, amps, wanted)


def in_channels(light: NDArray[np.float32], budgets: Budgets) -> NDArray[np.float32]:
    """Return light for the channels that the budgets count: (T, N, 3) split up for a white die.

    Raises
    ------
    ValueError
        Light of another shape than the pixels' channels.
    """
    channels = len(budgets.channel_amps)
    if light.ndim != 3 or light.shape[2] not in (3, channels):
        raise ValueError(f"light is {light.shape}; expected (frames, pixels, 3 or {channels})")
    return split_white(light) if light.shape[2] < channels else light


def _fit(scaled: Planes, wanted: F, budgets: Budgets) -> tuple[Planes, F, F]:
    """Find each frame's gain: (codes, gain, amps) of frames that are over at full gain."""
    most = budgets.gains(wanted).min(axis=1)
    gain = most * AIM
    codes = scaled * gain.astype(np.float32)[:, None]
    np.rint(codes, out=codes)
    amps = budgets.weigh(codes)
    full = budgets.utilisation(amps)
    if (poor := (full > FULL) | (full < NEAR)).any():
        dimmed = scaled[:, poor] * most[poor].astype(np.float32)[:, None]
        ceiling = np.rint(scaled[:, poor])
        codes[:, poor], part, amps[poor] = search(dimmed, ceiling, budgets)
        gain[poor] = most[poor] * part
    return codes, gain, amps


def search(
    dimmed: Planes, ceiling: Planes, budgets: Budgets, rounding: Planes | None = None
) -> tuple[Planes, F, F]:
    """Find the largest factor (T,) at which ``dimmed`` (C, T, N) fits: (codes, factor, amps).

    Where all pixels show one dim colour, rounding moves them all at once and no factor comes near
    the budget; so each pixel has its own rounding threshold here, spread evenly over the line.
    ``ceiling``: the codes that none is to go over, so that black stays black.
    """
    channels, frames, pixels = dimmed.shape
    spread = thresholds(0, 1, pixels, channels) if rounding is None else rounding
    low, high = np.zeros(frames), np.full(frames, 1.02)
    best = np.zeros_like(dimmed)
    amps = np.broadcast_to(budgets.idle, (frames, len(budgets))).copy()
    for _ in range(_TRIES):
        middle = (low + high) / 2
        codes = dimmed * middle.astype(np.float32)[:, None]
        codes += spread
        np.floor(codes, out=codes)
        np.minimum(codes, ceiling, out=codes)
        drawn = budgets.weigh(codes)
        fits = budgets.utilisation(drawn) <= FULL
        best[:, fits], amps[fits] = codes[:, fits], drawn[fits]
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
        if (high - low < 1e-5).all():
            break
    return best, np.minimum(low, 1), amps
