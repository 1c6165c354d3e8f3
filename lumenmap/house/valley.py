"""Where two roof planes meet: the valley (or hip) between two given edges."""

from __future__ import annotations

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.house.model import Points

#: Less than this of a line is no valley (m).
LEAST = 0.01


def meeting(one: Points, two: Points) -> tuple[Points, Points]:
    """Return the stretch (2, 3) that two convex roof planes share, low end first, and its facing.

    Raises
    ------
    InputError
        The planes are parallel, or cross nowhere inside both.
    """
    n1, n2 = normal(one), normal(two)
    way = np.cross(n1, n2)
    if np.linalg.norm(way) < 1e-6:
        raise InputError("their roof planes are parallel, so there is no valley between them")
    way /= np.linalg.norm(way)
    # The point of the line nearest to both planes' own points: three planes meet in it.
    middle = (one.mean(0) + two.mean(0)) / 2
    point = np.linalg.solve(np.stack([n1, n2, way]), [n1 @ one[0], n2 @ two[0], way @ middle])
    low, high = -np.inf, np.inf
    for corners, n in ((one, n1), (two, n2)):
        first, last = _inside(corners, n, point, way)
        low, high = max(low, first), min(high, last)
    if high - low < LEAST:
        raise InputError("their roof planes don't meet: does the lower roof reach into the other?")
    ends = np.array([point + low * way, point + high * way])
    facing = n1 + n2
    return (ends if ends[0, 2] <= ends[1, 2] else ends[::-1]), facing / np.linalg.norm(facing)


def normal(corners: Points) -> Points:
    """Return the unit normal of a flat polygon, by Newell's method."""
    out = np.cross(corners, np.roll(corners, -1, axis=0)).sum(0)
    unit: Points = out / np.linalg.norm(out)
    return unit


def _inside(corners: Points, n: Points, point: Points, way: Points) -> tuple[float, float]:
    """Clip a line in a convex polygon's plane to it (Cyrus and Beck); along the line in m."""
    low, high = -np.inf, np.inf
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        inward = np.cross(n, b - a)
        inward /= np.linalg.norm(inward)
        slant, here = float(inward @ way), float(inward @ (point - a))
        if abs(slant) < 1e-9:
            if here < -1e-6:
                return 1.0, 0.0
        elif slant > 0:
            low = max(low, -here / slant)
        else:
            high = min(high, -here / slant)
    return low, high
