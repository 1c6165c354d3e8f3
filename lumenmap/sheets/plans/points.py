"""Points on paper: between two, off one, and the direction to another (mm)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from lumenmap.drawing.canvas import Point

#: A label is so many times nearer to its own line than to any other.
CLEARLY = 1.15


def off(at: Point, way: Point, far: float) -> Point:
    """Return the point so far from another in a direction."""
    return at[0] + far * way[0], at[1] + far * way[1]


def part_way(a: Point, b: Point, part: float) -> Point:
    """Return the point at a part of the way from a to b."""
    return a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])


def distance(at: Point, line: tuple[Point, Point]) -> float:
    """Return how far a point is from the line between two others."""
    (ax, ay), (bx, by) = line
    u, v = bx - ax, by - ay
    part = ((at[0] - ax) * u + (at[1] - ay) * v) / (u * u + v * v or 1.0)
    near = part_way(*line, min(1.0, max(0.0, part)))
    return math.dist(at, near)


def from_way(at: Point, way: Sequence[Point]) -> float:
    """Return how far a point is from a line through several."""
    return min(distance(at, step) for step in pairwise(way))


def strays(at: Point, own: Sequence[Point], rest: Iterable[Sequence[Point]]) -> bool:
    """Return whether a label isn't clearly nearer to its own line than to all others."""
    limit = CLEARLY * from_way(at, own)
    return any(from_way(at, way) < limit for way in rest)


def unit_vector(a: Point, b: Point) -> Point:
    """Return the direction from one point to another."""
    u, v = b[0] - a[0], b[1] - a[1]
    size = (u * u + v * v) ** 0.5 or 1.0
    return u / size, v / size
