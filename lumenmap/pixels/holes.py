"""Where the holes of a straight piece lie: exact fractions of a metre from one datum.

Strategy: hole k is at ``first + k * spacing``, computed from the datum and never by adding up
steps, so nothing drifts. Rails are butted end to end; each is cut to a whole number of spacings,
so that the spacing runs on unchanged across the joint.
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
    """Holes of one straight piece: ``count`` of them at ``first + k * spacing`` m, exact."""

    first: Fraction
    spacing: Fraction
    count: int

    def places(self) -> NDArray[np.float64]:
        """Return (count,) m from the piece's start."""
        return float(self.first) + float(self.spacing) * np.arange(self.count, dtype=np.float64)

    def __getitem__(self, k: int) -> Fraction:
        return self.first + k * self.spacing


def holes(length: Fraction, rail: Rail) -> Holes:
    """Lay holes out along a straight piece of ``length`` m.

    As many whole spacings as fit are drilled; what is left over stays bare, half at either end.
    """
    count = math.floor((length + FINEST) / rail.hole_spacing)
    bare = length - count * rail.hole_spacing
    return Holes(max(bare, Fraction(0)) / 2 + rail.first_hole, rail.hole_spacing, count)


def exact(metres: float) -> Fraction:
    """Return a model's length as a fraction, rounded to `FINEST`."""
    return round(Fraction(metres) / FINEST) * FINEST
