"""The parts of flat polygons that are outside solids: what can be seen of a face.

Strategy: a convex polygon is cut by one side of a convex solid after the other; what is outside a
side is a part, what is inside goes on to the next (Sutherland and Hodgman's clipping, both halves
kept). So all parts are convex, and together they are a polygon again.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.solids.convex import Convex
from lumenmap.solids.planes import length, normal, vector_area

F = NDArray[np.float64]

#: Two faces nearer to each other than this (m) are in one plane: a tape's accuracy is coarser.
FLUSH = 1e-3
#: Corners nearer to a plane than this (m) are on it.
ON = 1e-7
#: A part of less area (m²) isn't one.
LEAST = 1e-6


def outside(polygon: F, solids: Sequence[tuple[Convex, bool]]) -> list[F]:
    """Return the convex parts (K, 3) of a convex polygon that are in none of some solids.

    Parameters
    ----------
    polygon
        (K, 3) m, counter-clockwise as seen from its outer side.
    solids
        Each with whether it also takes what is flush with one of its faces and has the same outer
        side. Of two such faces one stays, if one of their solids takes the other's. Where a face
        lies against a solid's from outside, it is always taken: nothing of it can be seen.
    """
    parts = [polygon]
    facing = normal(polygon)
    for solid, flush in solids:
        parts = [left for part in parts for left in _without(part, facing, solid, flush)]
    return parts


def _without(polygon: F, facing: F, solid: Convex, flush: bool) -> list[F]:
    over = polygon @ solid.normals.T - solid.offsets
    cosines = solid.normals @ facing
    level = (np.abs(cosines) > 1 - 1e-9) & (np.abs(over).max(axis=0) < FLUSH)
    if (level & (cosines > 0)).any() and not flush:
        return [polygon]
    if (over[:, ~level] >= -ON).all(axis=0).any():  # all of it is beyond one side
        return [polygon]
    parts: list[F] = []
    inside = polygon
    for number in np.flatnonzero(~level & (over > ON).any(axis=0)):
        inside, out = split(inside, solid.normals[number], solid.offsets[number])
        if area(out) > LEAST:
            parts.append(out)
        if area(inside) <= LEAST:
            return [polygon]
    return parts


def split(polygon: F, side: F, offset: float) -> tuple[F, F]:
    """Return the parts (K, 3) of a convex polygon below and above ``side @ p == offset``."""
    over = polygon @ side - offset
    if (over <= ON).all():
        return polygon, polygon[:0]
    if (over >= -ON).all():
        return polygon[:0], polygon
    below, above = [], []
    for a, b, here, there in zip(
        polygon, np.roll(polygon, -1, axis=0), over, np.roll(over, -1), strict=True
    ):
        if here <= ON:
            below.append(a)
        if here >= -ON:
            above.append(a)
        if min(here, there) < -ON and max(here, there) > ON:
            met = a + (b - a) * (here / (here - there))
            below.append(met)
            above.append(met)
    return np.array(below), np.array(above)


def area(polygon: F) -> float:
    """Return the area (m²) of a flat polygon (K, 3)."""
    return length(vector_area(polygon)) if len(polygon) > 2 else 0.0


def joined(parts: Sequence[F]) -> F:
    """Return one outline (K, 3) of all parts of a face, to be filled by the even-odd rule.

    From the end of each part it goes to the first corner of the first and back the same way: lines
    passed twice, between the parts too, don't count.
    """
    home = parts[0][0]
    rings = [parts[0]] + [np.concatenate([[home], part, part[:1]]) for part in parts[1:]]
    return np.concatenate(rings)
