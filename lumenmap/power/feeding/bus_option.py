"""A bus alongside a line, in place of many feeds: thick wire carries what the string can't.

Strategy: the thickest stock wire shows how few feeds are enough with a bus. Of all stock wires with
which that many are enough, verified by the network solver, the plan with the least copper is taken.
"""

from __future__ import annotations

from lumenmap.parts.wires import Wire
from lumenmap.power.feeding.option import Option
from lumenmap.power.feeding.planner import Planner

#: With more feeds than this, a bus is worth comparing.
FEW_FEEDS = 2
#: A bus is there to save feeds, so no more than this are tried with one.
_MAX_FEEDS = 4
#: Fractions of the permitted voltage drop that a plan may use, tried in turn; the rest is for what
#: the quick model leaves out.
_DROP_FRACTIONS = (1.0, 0.95, 0.9, 0.8)


def bus_option(planner: Planner, fewest: int) -> Option:
    """Return the option of a bus alongside a line, or why it saves no feed.

    Parameters
    ----------
    planner
        The line's planner, without a bus.
    fewest
        Feeds that the line needs without a bus, at least 2.
    """
    for count in range(1, min(fewest - 1, _MAX_FEEDS) + 1):
        thickest = _option(planner, count, planner.stock[-1])
        if not thickest.why_not:
            others = [_option(planner, count, size) for size in planner.stock[:-1]]
            works = [o for o in (*others, thickest) if not o.why_not]
            return min(works, key=lambda o: o.copper)
    return thickest


def _option(planner: Planner, count: int, size: Wire) -> Option:
    """Plan one bus, leaving some voltage for the string between ties if the solver needs it."""
    first: Option | None = None
    for fraction in _DROP_FRACTIONS:
        found = Planner(planner.site, planner.span, size, fraction).option(count)
        if not found.why_not:
            return found
        first = first or found
        if not found.feeds:
            break
    assert first
    return first
