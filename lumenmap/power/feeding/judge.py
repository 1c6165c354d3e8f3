"""`judge`: what a plan gives, by the network solver: light, volts, shows, faults, and its bill."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.house.supplies import Supply
from lumenmap.power.feeding.faults import Sweep, sweep
from lumenmap.power.feeding.groundwork.bill import Bill, bill
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.groundwork.plan import NoPlanError, Plan
from lumenmap.power.limits.limit import FULL
from lumenmap.site import Site

#: Steps of white that codes can show.
_STEPS = 255


@dataclass(frozen=True, slots=True, eq=False)
class ShowCodes:
    """A show before any limit: its file's name, and its codes (T, N, C), canonical order."""

    name: str
    codes: NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A plan and what it gives.

    Attributes
    ----------
    plan, site
        The plan, and the house wired by it; its supplies held to ``reached``, if volts ask for it.
    wished, reached
        0..1 of full white everywhere.
    binds
        What keeps it from more: volts, or the budget's name; empty at full white.
    lowest
        V at the pixel with the fewest, at ``reached`` or what was wished, if that is less.
    bill
        What it takes.
    dimmed
        Frames of each show that would be dimmed, by the show's name.
    faults
        What its fuses let through.
    """

    plan: Plan
    site: Site
    wished: float
    reached: float
    binds: str
    lowest: float
    bill: Bill
    faults: Sweep
    dimmed: tuple[tuple[str, int], ...] = ()

    @property
    def does(self) -> bool:
        """Whether it gives the light that is wished for."""
        return self.reached >= enough(self.wished)


def enough(level: float) -> float:
    """Return the white that shows a level: codes are whole, and the next one down will do."""
    return int(level * _STEPS + 1e-6) / _STEPS - 1e-9


def judge(ground: Ground, plan: Plan) -> Judged:
    """Solve a house wired by a plan, for the light of ``ground``.

    Raises
    ------
    NoPlanError
        The wiring would be dangerous, or can't be solved.
    """
    light = _Light(ground, plan)
    site, reached, binds = light.site, light.reached, light.binds
    if light.lit < light.carried:
        plan = replace(plan, supplies=_held(site, plan, reached))
        site = plan.site(ground.site)
    wish = min(ground.level, reached)
    return Judged(
        plan,
        site,
        ground.level,
        reached,
        binds if reached < 1 else "",
        light.lowest(wish),
        bill(ground.site, plan),
        sweep(site, wish),
    )


def reach(ground: Ground, plan: Plan, least: float = 0.0) -> float:
    """Return how much white a plan gives, 0..1; raises as `judge`.

    Where volts alone allow less than ``least``, that is returned; the rest isn't worked out.
    """
    return _Light(ground, plan, least).reached


class _Light:
    """How much white a plan gives: by its budgets, and by its volts."""

    def __init__(self, ground: Ground, plan: Plan, least: float = 0.0) -> None:
        self.site = plan.site(ground.site)
        try:
            self._idle, self._full = _volts(self.site)
        except InputError as error:
            raise NoPlanError(str(error)) from None
        floor = self.site.house.kind.min_volts * (1 + ground.margin)
        each = (self._idle - floor) / np.maximum(self._idle - self._full, 1e-12)
        self.lit = float(np.clip(each, 0, 1).min())
        self.carried, self.binds = 1.0, ""
        if self.lit >= least:
            self._carry()
        self.reached = int(min(self.carried, self.lit) * _STEPS + 1e-6) / _STEPS
        if self.lit < self.carried:
            self.binds = f"voltage: every pixel is to keep {floor:.2f} V"

    def _carry(self) -> None:
        """Work out what fuses, wires and supplies carry."""
        try:
            if self.site.verdict.dangers:
                raise NoPlanError(self.site.verdict.dangers[0].sentence)
            self.carried, self.binds = _carried(self.site)
        except InputError as error:
            raise NoPlanError(str(error)) from None

    def lowest(self, level: float) -> float:
        """Return the V at the pixel with the fewest at so much white."""
        return float((self._idle + level * (self._full - self._idle)).min())


def with_shows(found: Judged, shows: Sequence[ShowCodes]) -> Judged:
    """Return a plan with the frames of each show that it would dim."""
    dimmed = tuple((s.name, _dimmed(found.site, s.codes)) for s in shows)
    return replace(found, dimmed=dimmed)


def _carried(site: Site) -> tuple[float, str]:
    """Return how much white the budgets carry, and the one that binds."""
    budgets = site.budgets
    white = np.full((1, len(site.pixels), site.pixels.kind.channels), 255, np.uint8)
    gains = budgets.gains(budgets.amps_of(white))[0]
    k = int(gains.argmin())
    kind = {"branch": "fuse of"}.get(budgets.kinds[k], budgets.kinds[k])
    return float(gains[k]), f"{kind} {budgets.names[k]}"


def _volts(site: Site) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return V (N,) at the pixels dark and at full white, as if current never fell with volts."""
    kind = site.house.kind
    dark = kind.idle_ma / 1000
    amps = np.full((2, len(site.pixels)), dark)
    amps[1] += sum(kind.channel_ma) / 1000
    dark_volts, white_volts = site.wiring.network.load_volts(amps)
    return dark_volts, white_volts


def _held(site: Site, plan: Plan, level: float) -> tuple[Supply, ...]:
    """Return the supplies, each held to what this much white everywhere takes of it."""
    budgets = site.budgets
    codes = np.full((1, len(site.pixels), site.pixels.kind.channels), round(_STEPS * level))
    drawn = budgets.amps_of(codes.astype(np.uint8))[0]
    takes = {
        name: amps
        for name, kind, amps in zip(budgets.names, budgets.kinds, drawn, strict=True)
        if kind == "supply"
    }
    return tuple(
        replace(s, amps=min(s.amps, math.ceil(1000 * takes[s.name] + 1e-6) / 1000))
        if s.name in takes
        else s
        for s in plan.supplies
    )


def _dimmed(site: Site, codes: NDArray[np.uint8]) -> int:
    budgets = site.budgets
    return int((budgets.utilisation(budgets.amps_of(codes)) > FULL).sum())
