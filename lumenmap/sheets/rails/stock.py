"""Cutting rails from stock lengths: which rail comes from which, and what is left over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from lumenmap.sheets.rails.rails import PlacedRail


@dataclass(slots=True)
class Bar:
    """A stock length and the rails cut from it, in order."""

    length: Fraction
    kerf: Fraction
    rails: list[PlacedRail] = field(default_factory=list)

    @property
    def used(self) -> Fraction:
        """The length taken by rails and saw cuts (m)."""
        cuts = len(self.rails) * self.kerf
        total = sum((r.pattern.length for r in self.rails), Fraction(0))
        # A last rail that uses up the bar needs no cut after it.
        return min(total + cuts, self.length) if total <= self.length else total + cuts

    @property
    def left(self) -> Fraction:
        """The length left over (m)."""
        return self.length - self.used

    def fits(self, rail: PlacedRail) -> bool:
        """Return whether one more rail can be cut from it."""
        total = sum((r.pattern.length for r in self.rails), Fraction(0))
        return total + len(self.rails) * self.kerf + rail.pattern.length <= self.length


def cut(rails: Sequence[PlacedRail], stock: Fraction, kerf: Fraction) -> list[Bar]:
    """Assign rails to stock lengths: the longest first, each where least is left over.

    Best fit decreasing takes at most 11/9 of the fewest possible bars, plus one (Johnson and
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


def fewest(rails: Sequence[PlacedRail], stock: Fraction, kerf: Fraction) -> int:
    """Return a lower bound on the number of bars, whatever the cutting plan.

    Rails longer than half a bar take one each, and what is left of those bars is shared by rails
    of at least some length: the bound L2 of Martello and Toth, Knapsack Problems, 1990, section
    8.3 (from memory). Each rail counts with a saw cut, and a bar is longer by one, since the last
    rail of a bar may need none.
    """
    bar = stock + kerf
    sizes = [r.pattern.length + kerf for r in rails]
    bound = 0
    for least in {Fraction(0), *(s for s in sizes if s <= bar / 2)}:
        alone = [s for s in sizes if s > bar - least]
        long = [s for s in sizes if bar / 2 < s <= bar - least]
        short = sum((s for s in sizes if least <= s <= bar / 2), Fraction(0))
        more = short - (len(long) * bar - sum(long, Fraction(0)))
        bound = max(bound, len(alone) + len(long) + max(0, -int(-more // bar)))
    return bound
