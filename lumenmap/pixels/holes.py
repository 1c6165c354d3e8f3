"""Where the holes fall on an edge: exact distances from one datum, never summed floats."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

#: A hole this near past the end of an edge is still on it (m): far below what a drill can do.
_SLACK = Fraction(1, 10**7)


def hole_count(length: Fraction, spacing: Fraction, first: Fraction) -> int:
    """Return how many holes fit on ``length`` (exact m), the first at ``first``."""
    room = length - first + _SLACK
    return max(0, math.floor(room / spacing) + 1) if room >= 0 else 0


def hole_places(count: int, spacing: Fraction, first: Fraction) -> NDArray[np.float64]:
    """Return (count,) distances from the edge's start in m, each rounded once from its exact value.

    Worked as whole numbers over one denominator, so the k-th hole is off by at most half a unit in
    the last place however many come before it.
    """
    parts = math.lcm(spacing.denominator, first.denominator)
    step = spacing.numerator * (parts // spacing.denominator)
    start = first.numerator * (parts // first.denominator)
    if max(parts, start + step * count) < 2**53:
        return (start + step * np.arange(count, dtype=np.int64)) / parts
    return np.array([float(first + k * spacing) for k in range(count)])
