"""`Limiter`: one gain for the whole show, a gain that glides, or one for each frame.

Strategy: the demand of the show at a gain of 1 is recorded in a first pass, a few numbers a frame.
From it the gains of the whole show are planned, across the end of the loop too, so a gliding gain
starts to fall before the bright moment and doesn't pump. The second pass applies them and checks
the final codes; a frame that rounding or dithering lifts over a budget is dimmed alone.

A zone is a set of pixels on the same wires; the house is one zone unless each branch is limited by
itself. A supply that several zones share dims them all alike.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.dither import thresholds, where_seen
from lumenmap.codes.planes import from_planes, to_planes
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.limits.limit import (
    CLOSE,
    FULL,
    TARGET,
    Limited,
    Planes,
    in_channels,
    limit,
    search,
)
from lumenmap.power.limits.options import LimitOptions

F = NDArray[np.float64]

#: Makes gains (T, Z) follow a mode; the number is how fast they may change.
Smoothing = Callable[[F, float], F]


@dataclass(frozen=True, eq=False)
class Limiter:
    """Keeps a show within its budgets: `plan` its gains first, then `limit` block by block.

    Parameters
    ----------
    budgets
        Of the house.
    options
        How to limit.
    fps
        Frames/s of the show.
    gains
        (frames of the show, Z) planned gains; None until they are planned.
    brightness
        0..1: what all light is multiplied by before it is counted and rounded.
    """

    budgets: Budgets
    options: LimitOptions
    fps: float
    gains: F | None = None
    brightness: float = 1.0

    @property
    def needs_plan(self) -> bool:
        """Whether a first pass over the show is needed: not if full white everywhere fits."""
        if self.options.mode == "frame":
            return False
        channels, pixels = len(self.budgets.channel_amps), self.budgets.pixels
        white = self.budgets.amps_of(np.full((1, pixels, channels), 255, np.uint8))
        return bool(self.budgets.utilisation(white)[0] > FULL)

    def plan_bytes(self, frames: int) -> float:
        """Return how much memory the demand and gains of so many frames take."""
        if self.options.per == "house":
            return 8.0 * frames * 12
        zones, supplies = len(self._touches), int(self._supplies.sum())
        return 8.0 * frames * (12 * zones + 2 * zones * supplies + 3 * len(self.budgets))

    @cached_property
    def zones(self) -> NDArray[np.intp]:
        """Zone of each pixel (N,): pixels on the same fuses, or on the same wires without fuses."""
        kinds = np.array(self.budgets.kinds)
        rows = kinds == "branch" if "branch" in self.budgets.kinds else ~self._supplies
        if self.options.per == "house" or not rows.any():
            return np.zeros(self.budgets.pixels, np.intp)
        rows_of = self.budgets.parts.rows
        touched = np.zeros((int(rows.sum()), self.budgets.pixels), bool)
        for mark, k in zip(touched, np.flatnonzero(rows), strict=True):
            mark[rows_of[k].pixels] = True
        return np.unique(touched, axis=1, return_inverse=True)[1].reshape(-1)

    @cached_property
    def _touches(self) -> NDArray[np.bool_]:
        """Whether a budget carries any of a zone's current, (Z, K)."""
        return self.budgets.parts.carried(self.zones)

    @cached_property
    def _supplies(self) -> NDArray[np.bool_]:
        return np.array([kind == "supply" for kind in self.budgets.kinds])

    @cached_property
    def _by_zone(self) -> Budgets:
        """Budgets (zone × supply) for what each zone draws from each supply."""
        b, supplies = self.budgets, np.flatnonzero(self._supplies)
        zones = range(len(self._touches))
        return b.above_idle(
            [b.parts.rows[s].among(self.zones == z) for z in zones for s in supplies]
        )

    def demand(self, light: NDArray[np.float32]) -> F:
        """Return the demand of a block of light, a few numbers a frame, for `plan`."""
        codes = np.rint(self._steps(light))
        return self._demand(codes, self.budgets.amps_of_planes(codes))

    def _demand(self, codes: Planes, demand: F) -> F:
        """Return (T, 1) the house's gain; or (T, Z + Z·S) the zones' gains, and A from each supply.

        ``demand`` (T, K) is the same in A of each budget.
        """
        each = _aimed(self.budgets.gains(demand))
        if self.options.per == "house":
            lowest: F = each.min(axis=1, keepdims=True)
            return lowest
        own = np.where(self._touches & ~self._supplies, each[:, None, :], 1.0).min(axis=2)
        return np.concatenate([own, self._by_zone.amps_of_planes(codes)], axis=1)

    def plan(self, demand: F) -> Limiter:
        """Return a limiter with gains planned from the `demand` of all frames of the show."""
        return replace(self, gains=self._gains(demand, self._smooth))

    def _smooth(self, gains: F, slew: float) -> F:
        """Return gains (T, Z) of all frames as the mode has them, never above those given."""
        if self.options.mode == "steady":
            return np.broadcast_to(gains.min(axis=0), gains.shape)
        return glide(gains, slew / self.fps)

    def _gains(self, demand: F, smooth: Smoothing) -> F:
        """Return (T, Z) gains at which ``demand`` fits, smoothed."""
        b, slew = self.budgets, self.options.slew
        if self.options.per == "house":
            return smooth(demand, slew)
        zones = len(self._touches)
        # A zone's own gain and its supply's are multiplied, so each may change half as fast.
        own = smooth(demand[:, :zones], slew / 2)
        drawn = demand[:, zones:].reshape(len(demand), zones, -1)
        left = np.tile(b.idle, (len(demand), 1))
        left[:, self._supplies] += (drawn * own[:, :, None]).sum(axis=1)
        supply = smooth(_aimed(b.gains(left)[:, self._supplies]), slew / 2)
        for s, feeds in enumerate(self._touches[:, self._supplies].T):
            own = np.where(feeds, own * supply[:, s, None], own)
        return own

    def limit(self, light: NDArray[np.float32], first: int = 0) -> Limited:
        """Quantise and limit a block (T, N, C) that starts at frame ``first`` of the show."""
        o = self.options
        if not o.dither and self.gains is None and o.per == "house" and self.brightness == 1:
            return limit(light, self.budgets)
        scaled = self._steps(light)
        ceiling = np.rint(scaled)
        demand = self.budgets.amps_of_planes(ceiling)
        if self.gains is not None:
            gain = self.gains[first : first + len(light)]
        else:
            gain = self._gains(self._demand(ceiling, demand), lambda gains, _: gains)
        return self._apply(scaled, ceiling, demand, gain, first)

    def _steps(self, light: NDArray[np.float32]) -> Planes:
        """Return light (T, N, C) as planes in steps of one code, dimmed by the brightness."""
        steps = to_planes(in_channels(light, self.budgets))
        if self.brightness != 1:
            steps *= np.float32(self.brightness)
        return steps

    def _apply(self, scaled: Planes, ceiling: Planes, demand: F, gain: F, first: int) -> Limited:
        frames, pixels = scaled.shape[1:]
        capped = gain < 1
        gain = gain.copy()
        if capped.any():
            scaled *= gain[:, self.zones].astype(np.float32)
        rounding = None
        if self.options.dither:
            each = thresholds(first, frames, pixels, len(scaled), self.fps)
            rounding = where_seen(scaled, each)
            codes = scaled + rounding
            np.floor(codes, out=codes)
            np.minimum(codes, 255, out=codes)
        else:
            codes = np.rint(scaled)
        amps = self.budgets.amps_of_planes(codes)
        full = self.budgets.utilisation(amps)
        retry = full > FULL
        if self.gains is None:
            retry |= capped.any(axis=1) & (full < CLOSE)
        if retry.any():
            some, most = None, ceiling[:, retry]
            if rounding is not None:
                some = rounding[:, retry]
                most = np.minimum(np.floor(scaled[:, retry] + 1), 255)
            codes[:, retry], part, amps[retry] = search(scaled[:, retry], most, self.budgets, some)
            gain[retry] *= part[:, None]
        return Limited(from_planes(codes), gain, amps, demand)


def _aimed(gains: F) -> F:
    """Lower gains below 1 slightly, so that rounding seldom lifts a frame over its budget."""
    return np.where(gains < 1, gains * TARGET, 1.0)


def glide(gains: F, step: float) -> F:
    """Return the highest gains (T, Z) not above ``gains`` that change ``step`` halvings a frame.

    The last frame is followed by the first, since shows loop.
    """
    frames = len(gains)
    # Three laps of the loop: the middle one has its neighbours before and after it.
    stops = np.tile(np.log2(np.maximum(gains, 1e-30)), (3, 1))
    ramp = step * np.arange(3 * frames)[:, None]
    rising = np.minimum.accumulate(stops - ramp, axis=0) + ramp
    falling = np.minimum.accumulate((stops + ramp)[::-1], axis=0)[::-1] - ramp
    smooth = np.exp2(np.minimum(rising, falling)[frames : 2 * frames])
    # Rounding in the logarithms must not lift a gain by its last digit.
    lowest: F = np.minimum(smooth, gains)
    return lowest
