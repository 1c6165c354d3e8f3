"""`choose`: every kind of plan for the light that is wished for, and the cheapest that gives it.

Strategy: the quick models propose, the network solver disposes. Where it finds fewer volts than a
quick model, the model gets less of the drop to spend. A kind that can't give the light is planned
for the most it can.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.groundwork.plan import NoPlanError, Plan
from lumenmap.power.feeding.judge import Judged, ShowCodes, enough, judge, reach, with_shows
from lumenmap.power.feeding.kinds import as_is, bus, ends, feeds, sections, trunk, volts
from lumenmap.power.feeding.thinner import thinner

Kind = Callable[[Ground], Plan]

#: Every kind of plan by its name, and what it is.
KINDS: dict[str, tuple[Kind, str]] = {
    "as-is": (as_is.plan, as_is.WHAT),
    "feeds": (feeds.plan, feeds.WHAT),
    "sections": (sections.plan, sections.WHAT),
    "trunk": (trunk.plan, trunk.WHAT),
    "bus": (bus.plan, bus.WHAT),
    "ends": (ends.plan, ends.WHAT),
    "volts": (volts.plan, volts.WHAT),
}
#: Kinds that buy supplies to measure; today's bind the others.
_OWN_SUPPLIES = ("ends", "volts")
#: Parts of the permitted drop, and of what wires may carry, that the quick model may use, tried in
#: turn; more than all of it, since the return wire runs on past the cuts.
_SHARES: tuple[float, ...] = (1.15, 1.06, 1.0, 0.97, 0.93, 0.88, 0.8)
#: The same, to find out how much light there can be.
_QUICK = (1.0, 0.93, 0.85)
#: Light below what is wished for is tried in steps of this: our choice.
_STEP = 0.05
#: Codes are whole, so light is told to the nearest of them.
_NEAR = 0.5 / 255
#: Steps of light whose price is told.
STEPS = (0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True, slots=True)
class Impossible:
    """A kind of plan that can't be, and why."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class Step:
    """A step of light: 0..1, and the cheapest plan for it, if there is one."""

    level: float
    best: Judged | None


def make(name: str, ground: Ground) -> Judged | Impossible:
    """Return a kind of plan for the light of ``ground``, or for the most that it can give."""
    top, who = (1.0, "") if name in _OWN_SUPPLIES else supplied(ground)
    if name == "as-is" or top >= ground.level:
        top, who = ground.level, ""
    try:
        found = _at(name, ground, top)
        return replace(found, binds=f"supply {who}, which gives no more") if who else found
    except NoPlanError as error:
        why = str(error)
    low, high = 0, max(0, math.ceil(top / _STEP) - 1)
    while low < high:
        middle = (low + high + 1) // 2
        try:
            _first(name, ground, middle * _STEP, _QUICK)
            low = middle
        except NoPlanError:
            high = middle - 1
    try:
        return _at(name, ground, low * _STEP) if low else Impossible(name, why)
    except NoPlanError:
        return Impossible(name, why)


def _at(name: str, ground: Ground, level: float) -> Judged:
    """Return a kind of plan that gives so much light, of the thinnest wire that does.

    Raises
    ------
    NoPlanError
        It can't.
    """
    if name == "as-is":
        return judge(ground, as_is.plan(ground))
    shares = _SHARES
    first: Judged | None = None
    while shares:
        try:
            plan, shares = _first(name, ground, level, shares)
        except NoPlanError:
            if first is None:
                raise
            break
        found = judge(ground, thinner(ground, plan, enough(level)))
        first = first or found
        # Uncut lines have faults that no share clears.
        if found.faults.worst is None or name == "feeds":
            return found
    assert first
    return first


def _first(
    name: str, ground: Ground, level: float, shares: tuple[float, ...]
) -> tuple[Plan, tuple[float, ...]]:
    """Return the first plan that gives so much light, and the shares that weren't tried.

    Raises
    ------
    NoPlanError
        None does.
    """
    why = NoPlanError("no plan was tried")
    for k, share in enumerate(shares):
        try:
            plan = KINDS[name][0](ground.at(level, share))
            reached = reach(ground, plan, enough(level))
        except NoPlanError as error:
            why = error
            if share <= 1:  # with less to spend there is even less to choose from
                break
            continue
        if reached >= enough(level):
            return plan, shares[k + 1 :]
        why = NoPlanError(f"it reaches {100 * reached:.0f} % only")
    raise why


def supplied(ground: Ground) -> tuple[float, str]:
    """Return how much white the supplies there are could give, and which one gives least.

    Each gives to the pixels that it feeds today.
    """
    kind = ground.site.house.kind
    full, idle = sum(kind.channel_ma) / 1000, kind.idle_ma / 1000
    counts: dict[str, int] = {}
    amps: dict[str, float] = {}
    for s in ground.stretches:
        counts[s.supply.name] = counts.get(s.supply.name, 0) + s.last + 1 - s.first
        amps[s.supply.name] = s.supply.amps
    level, name = min(((amps[name] / n - idle) / full, name) for name, n in counts.items())
    # Codes are whole: the next step down is the light that is sure to fit.
    return max(0.0, int(min(1.0, level) * 255 + 1e-9) / 255), name


def plans(ground: Ground, shows: Sequence[ShowCodes] = ()) -> list[Judged | Impossible]:
    """Return every kind of plan for the light of ``ground``, and what it does to the shows."""
    found = [make(name, ground) for name in KINDS]
    return [with_shows(p, shows) if isinstance(p, Judged) else p for p in found]


def cheapest(found: Sequence[Judged | Impossible]) -> Judged | None:
    """Return the cheapest plan that gives the light that is wished for."""
    does = [p for p in found if isinstance(p, Judged) and p.does]
    return min(does, key=lambda p: (p.bill.money, p.bill.hours), default=None)


def steps(ground: Ground, wished: Sequence[Judged | Impossible]) -> list[Step]:
    """Return the cheapest plan for each step of light."""
    rows = []
    for level in sorted({*STEPS, ground.level}):
        same = abs(level - ground.level) < _NEAR
        rows.append(Step(level, cheapest(wished if same else _giving(ground.at(level)))))
    return rows


def _giving(ground: Ground) -> list[Judged]:
    """Return every plan that gives the light of ``ground``; as it is alone, if that is free."""
    found: list[Judged] = []
    given = supplied(ground)[0] >= enough(ground.level)
    for name in KINDS:
        if given or name in _OWN_SUPPLIES:
            with suppress(NoPlanError):
                found.append(_at(name, ground, ground.level))
                # None is cheaper, and the others take seconds.
                if name == "as-is" and found[-1].does and not _costs(found[-1]):
                    break
    return found


def _costs(plan: Judged) -> bool:
    return plan.bill.money > 0 or plan.bill.hours > 0
