"""`divide`: the cheapest way to cut a stretch into sections that are each fed alone.

Strategy: what a section costs depends on that section only, so the cheapest division is found from
the start onwards: the cheapest up to each cut is the cheapest up to an earlier one and a section.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from lumenmap.power.feeding.groundwork.ground import Ground, Section
from lumenmap.power.feeding.groundwork.plan import NoPlanError
from lumenmap.power.feeding.groundwork.stretch import Joint, Stretch

#: The sections that pixels (first, last) may be, at any joint, or none.
Choices = Callable[[int, int], Iterator[Section]]
#: A section is preferred to two as cheap.
_EACH = 1e-6


def divide(stretch: Stretch, choices: Choices) -> list[Section]:
    """Return the cheapest sections of a stretch, in order.

    Raises
    ------
    NoPlanError
        Some pixels can't be in any section.
    """
    stops = [*stretch.cuts, stretch.last + 1]
    best: dict[int, tuple[float, list[Section]]] = {stretch.first: (0.0, [])}
    for stop in stops:
        found: tuple[float, list[Section]] | None = None
        for start, (spent, before) in best.items():
            own = min(choices(start, stop - 1), key=lambda s: s.money, default=None)
            if own is None:
                continue
            total = spent + own.money + _EACH
            if found is None or total < found[0]:
                found = (total, [*before, own])
        if found is not None:
            best[stop] = found
    if stretch.last + 1 not in best:
        reached = max(best)
        raise NoPlanError(
            f'line "{stretch.line}" from pixel {reached + 1} on gets too few volts or too many '
            "amps from any place to feed it at"
        )
    return best[stretch.last + 1][1]


def fed_alone(
    ground: Ground,
    stretch: Stretch,
    room: Callable[[Joint], float],
    metres: Callable[[Joint], float],
    together: int = 2,
    thickest: float = math.inf,
) -> Choices:
    """Return the sections that are fed at a joint by a lead with a fuse.

    Parameters
    ----------
    room
        V that lead and string may drop there.
    metres
        Length of the lead.
    together
        Conductors that lie along the line.
    thickest
        Of the lead, mm2.
    """
    each, string = ground.pixel_amps, ground.may(ground.string, together)
    carries = [
        (size, min(string, ground.may(size)), ground.load(size), ground.prices.pair(size.name, 1.0))
        for size in ground.stock
        if size.area <= thickest
    ]
    outlet = ground.prices.fuse + ground.prices.connector
    contact = ground.site.house.string.connector_amps

    def choices(first: int, last: int) -> Iterator[Section]:
        amps = each * (last + 1 - first)
        if amps > string or (contact is not None and amps > contact):
            return
        for joint in stretch.inside(first, last):
            left = room(joint) - each * stretch.drop(first, last, joint)
            if left <= 0:
                continue
            for size, limit, load, price in carries:
                fuse = ground.fuse(amps, limit)
                lead = metres(joint)
                if not fuse or amps > load:
                    continue
                if amps * ground.lead_ohms(size, lead, joint.plug) <= left:
                    money = price * lead + outlet
                    yield Section(first, last, joint, size, fuse, money)
                    break

    return choices


def cuts(sections: list[Section]) -> tuple[str, ...]:
    """Return the cuts between sections, and before a stretch that isn't its line's first."""
    starts = [s.first for s in sections if s.first > 0]
    return tuple(f"after pixel {k}" for k in starts)
