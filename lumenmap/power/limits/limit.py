"""`limit`: codes whose current, calculated after rounding, keeps every budget.

Strategy: quantise and calculate the current; where a frame is over a budget, scale it by what is
left above idle, round and calculate again. The current that is returned is that of the returned
codes. Light is split into channel planes once, since everything that follows is faster over planes.
`Limiter` adds gains that are planned over the whole show.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.dither import thresholds
from lumenmap.codes.planes import from_planes, to_planes
from lumenmap.codes.white import split_white
from lumenmap.power.limits.budgets import Budgets

F = NDArray[np.float64]
Planes = NDArray[np.float32]

#: First aim for this part of the budget, so that rounding seldom lifts a frame over it.
TARGET = 0.9995
#: A budget is full here: just below 1, so that no rounding of the last digit goes over it.
FULL = 1 - 1e-12
#: A dimmed frame should come this near to its budget: 1 %, with some margin.
CLOSE = 0.992
_MAX_TRIES = 24
#: Pixel-frames that are limited at once, but two frames at least: their planes fit the cache, which
#: is 2.5 times as quick at 100,000 pixels.
_AT_ONCE = 256_000


@dataclass(frozen=True, slots=True, eq=False)
class Limited:
    """A limited block.

    Attributes
    ----------
    codes
        (T, N, C) uint8, canonical channel order.
    gain
        (T,) what the light was multiplied by, at most 1; or (T, Z) for each zone of the house.
    amps, demand
        (T, K) A drawn by ``codes``, and at a gain of 1.
    """

    codes: NDArray[np.uint8]
    gain: F
    amps: F
    demand: F

    def __repr__(self) -> str:
        """Return one line with the size and the lowest gain."""
        frames, pixels = self.codes.shape[:2]
        return f"<Limited: {frames} frames of {pixels} pixels, gain {self.gain.min():.2f} or more>"


def limit(light: NDArray[np.float32], budgets: Budgets) -> Limited:
    """Quantise light, dimming each frame as a whole just enough to keep every budget.

    Parameters
    ----------
    light
        (T, N, C) float32, clamped to 0..1; not modified. Three channels for
        pixels of four are red, green and blue, whose shared part goes to the white die.
    """
    light = in_channels(light, budgets)
    step = max(2, _AT_ONCE // max(1, light.shape[1]))
    if step < len(light):
        return _joined([limit(light[i : i + step], budgets) for i in range(0, len(light), step)])
    scaled = to_planes(light)
    codes = np.rint(scaled)
    demand = budgets.amps_of_planes(codes)
    gain = np.ones(len(light))
    over = budgets.utilisation(demand) > FULL
    if not over.any():
        return Limited(from_planes(codes), gain, demand, demand)
    if over.all():
        codes, gain, amps = _fit(scaled, demand, budgets)
    else:
        amps = demand.copy()
        codes[:, over], gain[over], amps[over] = _fit(scaled[:, over], demand[over], budgets)
    return Limited(from_planes(codes), gain, amps, demand)


def _joined(parts: list[Limited]) -> Limited:
    """Return the results of blocks of frames as one."""
    return Limited(
        *(np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(Limited))
    )


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
    return split_white(light, budgets.white) if light.shape[2] < channels else light


def _fit(scaled: Planes, demand: F, budgets: Budgets) -> tuple[Planes, F, F]:
    """Return (codes, gain, amps) of frames that are over a budget at a gain of 1."""
    most = budgets.gains(demand).min(axis=1)
    gain = most * TARGET
    codes = scaled * gain.astype(np.float32)[:, None]
    np.rint(codes, out=codes)
    amps = budgets.amps_of_planes(codes)
    full = budgets.utilisation(amps)
    if (retry := (full > FULL) | (full < CLOSE)).any():
        dimmed = scaled[:, retry] * most[retry].astype(np.float32)[:, None]
        ceiling = np.rint(scaled[:, retry])
        codes[:, retry], part, amps[retry] = search(dimmed, ceiling, budgets)
        gain[retry] = most[retry] * part
    return codes, gain, amps


def search(
    dimmed: Planes, ceiling: Planes, budgets: Budgets, rounding: Planes | None = None
) -> tuple[Planes, F, F]:
    """Return (codes, factor, amps) at the largest factor (T,) at which ``dimmed`` (C, T, N) fits.

    Where all pixels show one dim colour, rounding changes them all together and no factor comes
    near the budget; so each pixel has its own rounding threshold here, spread evenly over the line.
    ``ceiling``: codes that none may exceed, so that black stays black.
    """
    channels, frames, pixels = dimmed.shape
    spread = thresholds(0, 1, pixels, channels) if rounding is None else rounding
    low, high = np.zeros(frames), np.full(frames, 1.02)
    best = np.zeros_like(dimmed)
    amps = np.broadcast_to(budgets.idle, (frames, len(budgets))).copy()
    for _ in range(_MAX_TRIES):
        middle = (low + high) / 2
        codes = dimmed * middle.astype(np.float32)[:, None]
        codes += spread
        np.floor(codes, out=codes)
        np.minimum(codes, ceiling, out=codes)
        drawn = budgets.amps_of_planes(codes)
        fits = budgets.utilisation(drawn) <= FULL
        best[:, fits], amps[fits] = codes[:, fits], drawn[fits]
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
        if (high - low < 1e-5).all():
            break
    return best, np.minimum(low, 1), amps
