"""Flat convex polygons in space, and the lines in which they cut each other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]

#: A shorter line isn't one (m).
SHORTEST = 0.01


def vector_area(corners: F) -> F:
    """Return the normal (3,) of a flat polygon (K, 3), as long as its area is large.

    Newell's method: half the sum of each corner × the next, whose parts are all in one product of
    matrices. `numpy.cross` takes seven times as long for a few corners.
    """
    (_, xy, xz), (yx, _, yz), (zx, zy, _) = (corners.T @ following(corners)).tolist()
    return np.array([yz - zy, zx - xz, xy - yx]) / 2


def following(corners: F) -> F:
    """Return the corner after each of (K, 3)."""
    return np.concatenate([corners[1:], corners[:1]])


def length(vector: F) -> float:
    """Return the length of a vector (3,)."""
    return math.sqrt(vector @ vector)


def level_axes(normal: F) -> F:
    """Return two unit vectors (2, 3) in the plane with a unit normal (3,): level, and up it.

    In a level plane they are those of x and y.
    """
    x, y, z = normal.tolist()
    flat = math.hypot(x, y)
    across, over = (-y / flat, x / flat) if flat > 1e-6 else (1.0, 0.0)
    return np.array([[across, over, 0.0], [-z * over, z * across, x * over - y * across]])


def normal(corners: F) -> F:
    """Return the unit normal of a flat polygon (K, 3)."""
    out = vector_area(corners)
    unit: F = out / length(out)
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
    inward = np.cross(n, following(corners) - corners)
    inward /= np.linalg.norm(inward, axis=1, keepdims=True)
    slants, places = inward @ direction, ((point - corners) * inward).sum(1)
    for slant, here in zip(slants.tolist(), places.tolist(), strict=True):
        if abs(slant) < 1e-9:
            if here < -1e-6:
                return 1.0, 0.0
        elif slant > 0:
            low = max(low, -here / slant)
        else:
            high = min(high, -here / slant)
    return low, high
