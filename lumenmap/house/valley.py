"""Where two roof planes meet: the valley or hip between two given edges."""

from __future__ import annotations

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.house.model import Points

#: A shorter line isn't a valley (m).
SHORTEST = 0.01


def intersection(one: Points, two: Points) -> tuple[Points, Points]:
    """Return the line (2, 3) that two convex roof planes share, low end first, and its facing.

    Raises
    ------
    InputError
        The planes are parallel, or don't meet.
    """
    n1, n2 = normal(one), normal(two)
    direction = np.cross(n1, n2)
    if np.linalg.norm(direction) < 1e-6:
        raise InputError("their roof planes are parallel, so there is no valley between them")
    direction /= np.linalg.norm(direction)
    # A point of the line near both polygons: where it crosses the plane through their middle.
    middle = (one.mean(0) + two.mean(0)) / 2
    point = np.linalg.solve(
        np.stack([n1, n2, direction]), [n1 @ one[0], n2 @ two[0], direction @ middle]
    )
    low, high = -np.inf, np.inf
    for corners, n in ((one, n1), (two, n2)):
        first, last = _clip(corners, n, point, direction)
        low, high = max(low, first), min(high, last)
    if high - low < SHORTEST:
        raise InputError("their roof planes don't meet: does the lower roof reach into the other?")
    ends = np.array([point + low * direction, point + high * direction])
    facing = n1 + n2
    return (ends if ends[0, 2] <= ends[1, 2] else ends[::-1]), facing / np.linalg.norm(facing)


def normal(corners: Points) -> Points:
    """Return the unit normal of a flat polygon, by Newell's method."""
    out = np.cross(corners, np.roll(corners, -1, axis=0)).sum(0)
    unit: Points = out / np.linalg.norm(out)
    return unit


def _clip(corners: Points, n: Points, point: Points, direction: Points) -> tuple[float, float]:
    """Return where a line enters and leaves a convex polygon (Cyrus and Beck), m along the line."""
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
