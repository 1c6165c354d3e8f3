"""The best positions for a number of feeds on a line.

Strategy: start with the feeds spread evenly, then move one or all of them to where the utilisation
(of voltage drop, fuses or string, whichever is highest) is lowest, by ever smaller steps, until no
move helps.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

#: The utilisation of a plan that feeds at these pixels; above 1 it fails.
Utilisation = Callable[[list[int]], float]


def best_positions(n: int, count: int, apart: int, utilisation: Utilisation) -> list[int]:
    """Return at which of ``n`` pixels to feed, rising: the least strain found.

    Feeds stay ``apart`` pixels from each other.
    """
    middles = [int((2 * k + 1) * n / (2 * count)) for k in range(count)]
    ends = [round(k * (n - 1) / max(1, count - 1)) for k in range(count)]
    found = [_moved(_distinct(start, n), n, apart, utilisation) for start in (middles, ends)]
    return min(found, key=utilisation)


def _moved(at: list[int], n: int, apart: int, utilisation: Utilisation) -> list[int]:
    best = utilisation(at)
    step = max(1, n // (2 * len(at)))
    while step:
        better = False
        for moves in _moves(len(at), step):
            tried = [k + m for k, m in zip(at, moves, strict=True)]
            if min(tried) < 0 or max(tried) >= n or _nearest(tried) < apart:
                continue
            if (now := utilisation(tried)) < best - 1e-12:
                at, best, better = tried, now, True
        if not better:
            step //= 2
    return sorted(at)


def _distinct(at: list[int], n: int) -> list[int]:
    """Return pixels that are distinct and on the line."""
    found: list[int] = []
    for k in at:
        k = min(max(k, 0), n - 1)
        while k in found:
            k = (k + 1) % n
        found.append(k)
    return found


def _nearest(at: list[int]) -> int:
    """Return the distance in pixels between the two nearest feeds."""
    rising = sorted(at)
    return min((b - a for a, b in pairwise(rising)), default=1 << 30)


def _moves(count: int, step: int) -> Iterator[list[int]]:
    for sign in (step, -step):
        for k in range(count):
            yield [sign if j == k else 0 for j in range(count)]
        yield [sign] * count
