"""Where the holes of a straight piece lie: exact fractions of a metre from one datum.

Strategy: hole k is at ``first + k * spacing``, computed from the datum and never by adding up
steps, so nothing drifts. Rails are butted end to end; each but the last is cut to a whole number
of spacings, so that the spacing runs on unchanged across the joint.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.model import Rail

#: A model's length is rounded to this, and a hole that misses by no more still fits (m): far
#: below any tape, far above the rounding of binary numbers.
FINEST = Fraction(1, 1_000_000)


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

    def places(self) -> NDArray[np.float64]:
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


def holes(length: Fraction, rail: Rail) -> Holes:
    """Lay holes out along a straight piece of ``length`` m, as many as fit.

    A hole stays as far from the end of the last rail as from the end of the first, or as the next
    rail's first hole is from the joint, whichever is less.
    """
    room = length - rail.clear_start - rail.clear_end
    spacing, lead = rail.hole_spacing, rail.first_hole
    tail = min(lead, spacing - lead)
    if rail.remainder == "spread" and room > 0:
        # As near to the wanted spacing as whole holes allow.
        cells = max(1, round((room - lead - tail) / spacing) + 1)
        taken = lead + tail + (cells - 1) * spacing
        grown = room / taken if taken else Fraction(1)  # one hole at the very end has no spacing
        spacing, lead, tail = spacing * grown, lead * grown, tail * grown
    count = max(0, math.floor((room - lead - tail + FINEST) / spacing) + 1)
    bare = max(Fraction(0), room - (lead + (count - 1) * spacing + tail)) if count else room
    skipped = {"both": bare / 2, "start": bare}.get(rail.remainder, Fraction(0))
    if rail.remainder == "trim":
        tail += bare
    return Holes(rail.clear_start + skipped + lead, spacing, count, lead, tail)


def exact(metres: float) -> Fraction:
    """Return a model's length as a fraction, rounded to `FINEST`."""
    return round(Fraction(metres) / FINEST) * FINEST
