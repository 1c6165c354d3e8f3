"""A bus alongside a line, to compare with many feeds: thick wire carries what the string can't.

Strategy: the thickest stock wire shows how few feeds do with a bus; of all stock wire with which
that many do, as far as the network solver bears it out, the plan with the least copper is taken.
"""

from __future__ import annotations

from lumenmap.parts.wires import Wire
from lumenmap.power.feeding.option import Option
from lumenmap.power.feeding.planner import Planner

#: With more feeds than this, a bus is worth comparing.
FEW_FEEDS = 2
#: With a bus, more feeds than this are not tried: a bus is there to save them.
_MOST = 4
#: Parts of the volts to spare that are tried in turn; the rest is for what a plan leaves out.
_KEEP = (1.0, 0.95, 0.9, 0.8)


def alongside(planner: Planner, fewest: int) -> Option:
    """Return the way to feed a line with a bus alongside it, or why that saves no feed.

    Parameters
    ----------
    planner
        Of the line, without a bus.
    fewest
        Feeds that the line needs without one, at least 2.
    """
    for count in range(1, min(fewest - 1, _MOST) + 1):
        thickest = _option(planner, count, planner.stock[-1])
        if not thickest.why_not:
            others = [_option(planner, count, size) for size in planner.stock[:-1]]
            works = [o for o in (*others, thickest) if not o.why_not]
            return min(works, key=lambda o: o.copper)
    return thickest


def _option(planner: Planner, count: int, size: Wire) -> Option:
    """Plan one bus, leaving volts over for the string between ties where the solver asks it."""
    first: Option | None = None
    for keep in _KEEP:
        found = Planner(planner.site, planner.span, size, keep).option(count)
        if not found.why_not:
            return found
        first = first or found
        if not found.feeds:
            break
    assert first
    return first
