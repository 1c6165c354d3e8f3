"""The limiter with a plan: one gain for the show, a gain that glides, or each frame by itself.

Strategy: what the show wants at full gain is noted in a first pass, a few numbers a frame. From
that the gains of the whole show are planned, the join of the loop included, so a gain that glides
begins to fall before the bright moment and nobody sees it pump. The second pass applies them and
counts the final codes; a frame that rounding or dither lifts over a budget is brought down alone.

A zone is a set of pixels that hang on the same wires; all of the house is one zone unless each
branch is limited by itself. Then a supply that several zones share dims them all alike.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.dither import thresholds
from lumenmap.codes.planes import from_planes, to_planes
from lumenmap.core.errors import InputError, unknown
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.limits.limit import AIM, FULL, NEAR, Limited, Planes, in_channels, limit, search

F = NDArray[np.float64]

#: Makes gains (T, Z) follow a mode, given how fast they may change.
Smoothing = Callable[[F, float], F]

MODES = {
    "steady": "one gain for the whole show, as low as its brightest moment needs",
    "glide": "a gain that falls and rises slowly, ahead of the bright moments",
    "frame": "each frame by itself, as bright as it can be",
}
SCOPES = {"house": "all pixels dim alike", "branch": "each branch dims by itself"}


@dataclass(frozen=True, slots=True)
class LimitOptions:
    """How to hold a show inside its budgets.

    Attributes
    ----------
    mode, per
        A key of `MODES`; a key of `SCOPES`.
    slew
        How fast a gliding gain may change: halvings or doublings a second.
    dither
        Whether to show codes in turn for what lies between them.
    """

    mode: str = "glide"
    per: str = "house"
    slew: float = 0.5
    dither: bool = False

    def __post_init__(self) -> None:
        if self.mode not in MODES:
            raise InputError(unknown("limiter mode", self.mode, MODES, plural="Modes"))
        if self.per not in SCOPES:
            raise InputError(unknown("scope", self.per, SCOPES), key="per")
        if not 0.01 <= self.slew <= 100:
            raise InputError(f"is {self.slew:g}; wanted 0.01 to 100 halvings a second", key="slew")


@dataclass(frozen=True, eq=False)
class Limiter:
    """Holds a show inside its budgets; see `limit` for blocks, `plan` for what comes before.

    Parameters
    ----------
    budgets
        Of the house.
    options
        How.
    fps
        Frames/s of the show.
    gains
        (frames of the show, Z) planned gains; None until `plan` gives them.
    """

    budgets: Budgets
    options: LimitOptions
    fps: float
    gains: F | None = None

    @property
    def needs_plan(self) -> bool:
        """Whether a first pass over the show is wanted: not if full white everywhere fits."""
        if self.options.mode == "frame":
            return False
        channels, pixels = len(self.budgets.channel_amps), self.budgets.share.shape[1]
        white = self.budgets.draw(np.full((1, pixels, channels), 255, np.uint8))
        return bool(self.budgets.utilisation(white)[0] > FULL)

    @cached_property
    def zones(self) -> NDArray[np.intp]:
        """Zone of each pixel (N,): those that hang on the same fuses, or wires where none are."""
        kinds = np.array(self.budgets.kinds)
        rows = kinds == "branch" if "branch" in self.budgets.kinds else ~self._supplies
        if self.options.per == "house" or not rows.any():
            return np.zeros(self.budgets.share.shape[1], np.intp)
        touched = self.budgets.share[rows] > 0
        return np.unique(touched, axis=1, return_inverse=True)[1].reshape(-1)

    @cached_property
    def _touches(self) -> NDArray[np.bool_]:
        """Whether any of a zone's current is carried by a budget, (Z, K)."""
        zones = range(int(self.zones.max(initial=0)) + 1)
        return np.array([(self.budgets.share[:, self.zones == z] > 0).any(axis=1) for z in zones])

    @cached_property
    def _supplies(self) -> NDArray[np.bool_]:
        return np.array([kind == "supply" for kind in self.budgets.kinds])

    @cached_property
    def _by_zone(self) -> Budgets:
        """Budgets (zone × supply) that count what each zone draws from each supply."""
        b, supplies = self.budgets, np.flatnonzero(self._supplies)
        zones = range(len(self._touches))
        rows = [b.share[s] * (self.zones == z) for z in zones for s in supplies]
        count = len(rows)
        return replace(
            b,
            names=("",) * count,
            kinds=("",) * count,
            amps=np.ones(count),
            idle=np.zeros(count),
            share=np.array(rows),
        )

    def wants(self, light: NDArray[np.float32]) -> F:
        """Note what a block wants, a few numbers a frame, for `plan`."""
        codes = np.rint(to_planes(in_channels(light, self.budgets)))
        return self._wants(codes, self.budgets.weigh(codes))

    def _wants(self, codes: Planes, wanted: F) -> F:
        """Return (T, 1) the house's gain; or (T, Z + Z·S): zones' own, their A of each supply."""
        each = _aimed(self.budgets.gains(wanted))
        if self.options.per == "house":
            lowest: F = each.min(axis=1, keepdims=True)
            return lowest
        own = np.where(self._touches & ~self._supplies, each[:, None, :], 1.0).min(axis=2)
        return np.concatenate([own, self._by_zone.weigh(codes)], axis=1)

    def plan(self, wants: F) -> Limiter:
        """Return a limiter with the gains planned from the `wants` of all frames of the show."""
        return replace(self, gains=self._gains(wants, self._smooth))

    def _smooth(self, gains: F, slew: float) -> F:
        """Make gains (T, Z) of all frames follow the mode, never above what they were."""
        if self.options.mode == "steady":
            return np.broadcast_to(gains.min(axis=0), gains.shape)
        return glide(gains, slew / self.fps)

    def _gains(self, wants: F, smooth: Smoothing) -> F:
        """Return (T, Z) gains at which ``wants`` fits, smoothed."""
        b, slew = self.budgets, self.options.slew
        if self.options.per == "house":
            return smooth(wants, slew)
        zones = len(self._touches)
        # A zone's own gain and its supply's multiply, so each may change half as fast.
        own = smooth(wants[:, :zones], slew / 2)
        drawn = wants[:, zones:].reshape(len(wants), zones, -1)
        left = np.tile(b.idle, (len(wants), 1))
        left[:, self._supplies] += (drawn * own[:, :, None]).sum(axis=1)
        supply = smooth(_aimed(b.gains(left)[:, self._supplies]), slew / 2)
        for s, feeds in enumerate(self._touches[:, self._supplies].T):
            own = np.where(feeds, own * supply[:, s, None], own)
        return own

    def limit(self, light: NDArray[np.float32], first: int = 0) -> Limited:
        """Quantise and limit a block (T, N, C) that begins at frame ``first`` of the show."""
        o = self.options
        if not o.dither and self.gains is None and o.per == "house":
            return limit(light, self.budgets)
        scaled = to_planes(in_channels(light, self.budgets))
        ceiling = np.rint(scaled)
        wanted = self.budgets.weigh(ceiling)
        if self.gains is not None:
            gain = self.gains[first : first + len(light)]
        else:
            gain = self._gains(self._wants(ceiling, wanted), lambda gains, _: gains)
        return self._apply(scaled, ceiling, wanted, gain, first)

    def _apply(self, scaled: Planes, ceiling: Planes, wanted: F, gain: F, first: int) -> Limited:
        frames, pixels = scaled.shape[1:]
        capped = gain < 1
        gain = gain.copy()
        if capped.any():
            scaled *= gain[:, self.zones].astype(np.float32)
        rounding = None
        if self.options.dither:
            rounding = thresholds(first, frames, pixels, len(scaled))
            codes = np.floor(scaled + rounding)
            np.minimum(codes, 255, out=codes)
            ceiling = np.minimum(np.floor(scaled + 1), 255)
        else:
            codes = np.rint(scaled)
        amps = self.budgets.weigh(codes)
        full = self.budgets.utilisation(amps)
        poor = full > FULL
        if self.gains is None:
            poor |= capped.any(axis=1) & (full < NEAR)
        if poor.any():
            some = rounding[:, poor] if rounding is not None else None
            codes[:, poor], part, amps[poor] = search(
                scaled[:, poor], ceiling[:, poor], self.budgets, some
            )
            gain[poor] *= part[:, None]
        return Limited(from_planes(codes), gain, amps, wanted)


def _aimed(gains: F) -> F:
    """Lower gains below 1 by a hair, so that rounding seldom lifts a frame over its budget."""
    return np.where(gains < 1, gains * AIM, 1.0)


def glide(gains: F, step: float) -> F:
    """Return the highest gains (T, Z) not above ``gains`` that change ``step`` halvings a frame.

    The last frame leads to the first, as the loop does.
    """
    frames = len(gains)
    # Three laps: the middle one feels the laps before and after it.
    stops = np.tile(np.log2(np.maximum(gains, 1e-30)), (3, 1))
    ramp = step * np.arange(3 * frames)[:, None]
    rising = np.minimum.accumulate(stops - ramp, axis=0) + ramp
    falling = np.minimum.accumulate((stops + ramp)[::-1], axis=0)[::-1] - ramp
    smooth = np.exp2(np.minimum(rising, falling)[frames : 2 * frames])
    # The way there and back through logarithms must not lift a gain by its last digit.
    lowest: F = np.minimum(smooth, gains)
    return lowest
