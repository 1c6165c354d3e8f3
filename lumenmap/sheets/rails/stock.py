"""Cutting rails from stock: which rails come from which length, and what is left over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from lumenmap.sheets.rails.rails import Placed


@dataclass(slots=True)
class Bar:
    """A stock length and the rails cut from it, in order."""

    length: Fraction
    kerf: Fraction
    rails: list[Placed] = field(default_factory=list)

    @property
    def used(self) -> Fraction:
        """Length that the rails and the saw take, m."""
        cuts = len(self.rails) * self.kerf
        total = sum((r.pattern.length for r in self.rails), Fraction(0))
        # A last rail that uses the bar up needs no cut behind it.
        return min(total + cuts, self.length) if total <= self.length else total + cuts

    @property
    def left(self) -> Fraction:
        """What remains, m."""
        return self.length - self.used

    def fits(self, rail: Placed) -> bool:
        """Whether one more rail can come from it."""
        total = sum((r.pattern.length for r in self.rails), Fraction(0))
        return total + len(self.rails) * self.kerf + rail.pattern.length <= self.length


def cut(rails: Sequence[Placed], stock: Fraction, kerf: Fraction) -> list[Bar]:
    """Lay rails out on stock lengths: the longest first, each where it fits most tightly.

    Best fit decreasing takes at most 11/9 of the fewest possible bars, and one more (Johnson and
    others, SIAM Journal on Computing 3, 1974; from memory).
    """
    bars: list[Bar] = []
    for rail in sorted(rails, key=lambda r: (-r.pattern.length, r.number)):
        open_bars = [b for b in bars if b.fits(rail)]
        if open_bars:
            min(open_bars, key=lambda b: b.left).rails.append(rail)
        else:
            bars.append(Bar(stock, kerf, [rail]))
    return bars


def fewest(rails: Sequence[Placed], stock: Fraction) -> int:
    """Return a number of bars that no way of cutting can go below."""
    total = sum((r.pattern.length for r in rails), Fraction(0))
    return -int(-total // stock)
