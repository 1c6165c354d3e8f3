"""Where the holes of a straight piece are: exact fractions of a metre from one datum.

Strategy: hole k is at ``first + k * spacing``, computed from the datum and not by adding up steps,
so errors don't accumulate. Rails are butted end to end; each but the last is cut to a whole number
of spacings, so that the spacing continues across the joint.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.rails import Rail

#: A model's length is rounded to this, and a hole that misses by no more still fits (m): far
#: finer than any tape, far coarser than the rounding of binary numbers.
RESOLUTION = Fraction(1, 1_000_000)


@dataclass(frozen=True, slots=True)
class Holes:
    """Holes of one straight piece, exact m from its start.

    Attributes
    ----------
    first, spacing, count
        Hole k is at ``first + k * spacing``.
    lead
        From a rail's end to its first hole.
    tail
        From the last hole to the end of the last rail.
    """

    first: Fraction
    spacing: Fraction
    count: int
    lead: Fraction
    tail: Fraction

    def __getitem__(self, k: int) -> Fraction:
        return self.first + k * self.spacing

    def positions(self) -> NDArray[np.float64]:
        """Return (count,) m from the piece's start."""
        return float(self.first) + float(self.spacing) * np.arange(self.count, dtype=np.float64)

    @property
    def start(self) -> Fraction:
        """Where the first rail starts."""
        return self.first - self.lead

    @property
    def stop(self) -> Fraction:
        """Where the last rail ends."""
        return self[self.count - 1] + self.tail if self.count else self.start


def lay_out_holes(length: Fraction, rail: Rail) -> Holes:
    """Return as many holes as fit a straight piece of ``length`` m.

    The last hole is at least as far from the end of its rail as the first hole from the start, or
    as a rail's last hole is from a joint, whichever is less.
    """
    room = length - rail.clear_start - rail.clear_end
    spacing, lead = rail.hole_spacing, rail.first_hole
    tail = min(lead, spacing - lead)
    if rail.remainder == "spread" and room > 0:
        # As near to the given spacing as a whole number of holes allows.
        number = max(1, round((room - lead - tail) / spacing) + 1)
        taken = lead + tail + (number - 1) * spacing
        scale = room / taken if taken else Fraction(1)  # one hole at the very end has no spacing
        spacing, lead, tail = spacing * scale, lead * scale, tail * scale
    count = max(0, math.floor((room - lead - tail + RESOLUTION) / spacing) + 1)
    bare = max(Fraction(0), room - (lead + (count - 1) * spacing + tail)) if count else room
    skipped = {"both": bare / 2, "start": bare}.get(rail.remainder, Fraction(0))
    if rail.remainder == "trim":
        tail += bare
    return Holes(rail.clear_start + skipped + lead, spacing, count, lead, tail)


def rounded(metres: float) -> Fraction:
    """Return a model's length as a fraction, rounded to `RESOLUTION`."""
    return round(Fraction(metres) / RESOLUTION) * RESOLUTION
