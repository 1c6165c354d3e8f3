"""Points on paper: between two, off one, and the direction to another (mm)."""

from __future__ import annotations

from lumenmap.drawing.canvas import Point


def off(at: Point, way: Point, far: float) -> Point:
    """Return the point so far from another in a direction."""
    return at[0] + far * way[0], at[1] + far * way[1]


def part_way(a: Point, b: Point, part: float) -> Point:
    """Return the point at a part of the way from a to b."""
    return a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])


def unit_vector(a: Point, b: Point) -> Point:
    """Return the direction from one point to another."""
    u, v = b[0] - a[0], b[1] - a[1]
    size = (u * u + v * v) ** 0.5 or 1.0
    return u / size, v / size
