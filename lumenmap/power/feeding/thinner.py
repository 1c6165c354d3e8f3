"""`thinner`: a plan whose feeds are as thin as the network solver allows.

Strategy: the quick models leave out that the return wire runs on past the cuts, which helps some
feeds. So each is tried thinner, the one that saves most first, as long as the plan still holds.
"""

from __future__ import annotations

from dataclasses import replace

from lumenmap.parts.wires import Wire, wire
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.groundwork.plan import NoPlanError, Plan
from lumenmap.power.feeding.judge import reach

#: Plans solved at most: bounds the time.
_TRIES = 40


def thinner(ground: Ground, plan: Plan, level: float) -> Plan:
    """Return a plan that still gives ``level``, of thinner feeds where that can be."""
    tries = 0
    settled: set[str] = set()
    while tries < _TRIES:
        steps = {
            k: (saved, size)
            for k, f in enumerate(plan.feeds)
            if f.name not in settled and (size := _next(ground, f.wire))
            for saved in [ground.prices.pair(f.wire, f.length)]
        }
        if not steps:
            break
        k = max(steps, key=lambda k: steps[k][0])
        old = plan.feeds[k]
        feeds = (*plan.feeds[:k], replace(old, wire=steps[k][1].name), *plan.feeds[k + 1 :])
        tried = replace(plan, feeds=feeds)
        tries += 1
        try:
            holds = reach(ground, tried, level) >= level
        except NoPlanError:
            holds = False
        if holds:
            plan = tried
        else:
            settled.add(old.name)
    return plan


def _next(ground: Ground, size: str) -> Wire | None:
    """Return the next thinner wire of the stock."""
    area = wire(size).area
    return max((w for w in ground.stock if w.area < area), key=lambda w: w.area, default=None)
