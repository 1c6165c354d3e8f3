"""Flat convex polygons in space, and the lines in which they cut each other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]

#: A shorter line isn't one (m).
SHORTEST = 0.01


def normal(corners: F) -> F:
    """Return the unit normal of a flat polygon (K, 3), by Newell's method."""
    out = np.cross(corners, np.roll(corners, -1, axis=0)).sum(0)
    unit: F = out / np.linalg.norm(out)
    return unit


def parallel(one: F, two: F) -> bool:
    """Return whether the planes of two polygons are parallel."""
    return bool(np.linalg.norm(np.cross(normal(one), normal(two))) < 1e-6)


def crossing(one: F, two: F) -> F | None:
    """Return the line (2, 3) that two convex polygons share; None if they don't meet."""
    if parallel(one, two):
        return None
    n1, n2 = normal(one), normal(two)
    direction = np.cross(n1, n2)
    direction /= np.linalg.norm(direction)
    # A point of the line near both polygons: where it crosses the plane through their middle.
    middle = (one.mean(0) + two.mean(0)) / 2
    point = np.linalg.solve(
        np.stack([n1, n2, direction]), [n1 @ one[0], n2 @ two[0], direction @ middle]
    )
    low, high = -np.inf, np.inf
    for corners, n in ((one, n1), (two, n2)):
        first, last = chord(corners, n, point, direction)
        low, high = max(low, first), min(high, last)
    return None if high - low < SHORTEST else np.array([point + t * direction for t in (low, high)])


def crossings(polygons: Sequence[F], owners: Sequence[object]) -> Iterator[tuple[int, int, F]]:
    """Yield the numbers of two polygons of different owners, and the line (2, 3) they share."""
    if not polygons:
        return
    low = np.array([p.min(0) for p in polygons])
    high = np.array([p.max(0) for p in polygons])
    for i, own in enumerate(polygons):
        near = ((low[i + 1 :] <= high[i]) & (high[i + 1 :] >= low[i])).all(axis=1)
        for k in (np.flatnonzero(near) + i + 1).tolist():
            if owners[k] != owners[i] and (line := crossing(own, polygons[k])) is not None:
                yield i, k, line


def chord(corners: F, n: F, point: F, direction: F) -> tuple[float, float]:
    """Return where a line in the plane of a convex polygon (K, 3) enters and leaves it, m along it.

    Cyrus and Beck's clipping; ``n`` (3,) is the polygon's normal. The line passes by if it would
    leave before it enters.
    """
    low, high = -np.inf, np.inf
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        inward = np.cross(n, b - a)
        inward /= np.linalg.norm(inward)
        slant, here = float(inward @ direction), float(inward @ (point - a))
        if abs(slant) < 1e-9:
            if here < -1e-6:
                return 1.0, 0.0
        elif slant > 0:
            low = max(low, -here / slant)
        else:
            high = min(high, -here / slant)
    return low, high
