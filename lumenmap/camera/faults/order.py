"""`other_order`: the order in which a line runs along its edges, if it isn't the map's."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from lumenmap.camera.faults.holes import SHIFT
from lumenmap.pixels.line_layout import RunLayout

#: What fewer pixels show is chance.
FEWEST = 4


@dataclass(frozen=True, slots=True)
class Stretch:
    """The part of a piece on one run; ``line`` and ``run`` say where it sits, not where it should.

    ``first`` and ``last`` are pixels of the house.
    """

    line: int
    run: int
    first: int
    last: int
    step: int
    shift: int
    seen: int


def other_order(runs: list[RunLayout], first: int, own: list[Stretch]) -> list[int] | None:
    """Return the order of a line's runs if it isn't the map's: the nearest to it that fits best.

    An edge whose pixels are those of another says so, even if that other isn't seen.
    """
    same = list(range(len(runs)))
    tried = [same, *_moved(same)]
    fits = [sum(s.seen for s in own if _fits(s, order, runs, first)) for order in tried]
    best = max(range(len(tried)), key=lambda k: fits[k])
    if not best or fits[best] < fits[0] + FEWEST:
        return None
    return tried[best]


def _moved(order: list[int]) -> list[list[int]]:
    """Return orders in which neighbours, then others are exchanged, then one is elsewhere."""
    pairs = list(itertools.combinations(range(len(order)), 2))
    out = []
    for a, b in sorted(pairs, key=lambda pair: pair[1] - pair[0]):
        other = order.copy()
        other[a], other[b] = order[b], order[a]
        out.append(other)
    for a, b in pairs:
        rest = [*order[:a], *order[a + 1 :]]
        out.append([*rest[:b], order[a], *rest[b:]])
        rest = [*order[:b], *order[b + 1 :]]
        out.append([*rest[:a], order[b], *rest[a:]])
    return out


def _fits(stretch: Stretch, order: list[int], runs: list[RunLayout], first: int) -> bool:
    """Return whether pixels sit where they do if a line's runs follow each other in an order."""
    run = runs[stretch.run]
    before = order[: order.index(stretch.run)]
    hidden = sum(_gap(runs, k) for k in range(order.index(stretch.run) + 1))
    begin = hidden + sum(runs[k].count for k in before)
    hole = first + run.first
    if stretch.step > 0:
        return abs(hole - (first + begin) - stretch.shift) <= SHIFT
    return abs(hole + run.count - 1 + first + begin - stretch.shift) <= SHIFT


def _gap(runs: list[RunLayout], k: int) -> int:
    """Return the hidden pixels before a run."""
    end = runs[k - 1].first + runs[k - 1].count if k else 0
    return runs[k].first - end
