"""Where a rail's clips go: near both ends and between holes, so that no clip covers a pixel."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from lumenmap.core.units import INCH
from lumenmap.house.choices import Unit
from lumenmap.sheets.rails.rails import Pattern

#: The longest distance between clips (m); there is one at each end too. 2 to 3 ft for a drilled
#: rail in the sun is common practice, no source; this is round in either unit.
CLIPS_FEET, CLIPS_METRES = 30 * INCH, Fraction(3, 4)


def clips_apart(unit: Unit) -> Fraction:
    """Return the longest distance between clips (m)."""
    return CLIPS_FEET if unit in ("ft", "in") else CLIPS_METRES


def clips(pattern: Pattern, unit: Unit) -> list[Fraction]:
    """Return the distance of each clip from the datum: as few as the rule allows, evenly spread.

    Each is midway between two holes, or between a hole and the end of the rail.
    """
    apart, ends = clips_apart(unit), [Fraction(0), *pattern.holes(), pattern.length]
    middles = [(a + b) / 2 for a, b in pairwise(ends) if b > a]
    first, last = middles[0], middles[-1]
    for steps in range(1, len(middles)):
        targets = [first + (last - first) * k / steps for k in range(steps + 1)]
        found = sorted({_nearest(middles, t) for t in targets})
        if all(b - a <= apart for a, b in pairwise(found)):
            return found
    return middles


def _nearest(places: list[Fraction], target: Fraction) -> Fraction:
    return min(places, key=lambda place: abs(place - target))
