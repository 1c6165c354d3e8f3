"""What a mass fills, as convex solids; and how it is put in its place."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.masses.kinds import Side
from lumenmap.house.masses.mass import Mass, Overhang, Points
from lumenmap.house.masses.roofs import roof
from lumenmap.solids.convex import Convex, HalfSpace, half_spaces

#: Depth of the fascia board under the roof's edge (m), common practice, no source.
BOARD = 0.16
#: A point nearer to a face than this (m) is on it rather than inside: the accuracy of a tape and
#: of straight walls; common practice, no source.
TOLERANCE = 0.05


def solids(mass: Mass) -> tuple[Convex, ...]:
    """Return what a mass fills: its roof, and the room inside its walls."""
    inner = room(mass)
    return (*slabs(mass), inner) if inner is not None else slabs(mass)


def inside(mass: Mass, points: Points, depth: float = TOLERANCE) -> NDArray[np.bool_]:
    """Return which points (N, 3) are inside a mass, ``depth`` m or more from each of its faces."""
    found = np.zeros(len(points), bool)
    for solid in solids(mass):
        found |= solid.inside(points, depth)
    return found


def room(mass: Mass) -> Convex | None:
    """Return what is inside the walls, up to the roof; None if the mass is an open roof."""
    if not mass.walls:
        return None
    solid = half_spaces(*_box(mass, Overhang()), ((0.0, 0.0, -1.0), mass.foot), *_planes(mass))
    return solid.moved(*placing(mass))


def slabs(mass: Mass) -> tuple[Convex, ...]:
    """Return a slab `BOARD` thick for each roof plane, out to the end of its overhang.

    Slabs overlap at ridges and hips: each is all that lies under every plane and not far under its
    own.
    """
    planes, found = _planes(mass), []
    for (x, y, z), offset in planes:
        under = ((-x, -y, -z), BOARD - offset)
        found.append(half_spaces(*_box(mass, mass.overhang), *planes, under))
    return tuple(solid.moved(*placing(mass)) for solid in found)


def _box(mass: Mass, out: Overhang) -> list[HalfSpace]:
    """Return the sides of an outline that lies outside the walls."""
    return [((-x, -y, 0.0), c + out.of(side)) for side, (x, y, c) in _inward(mass).items()]


def _planes(mass: Mass) -> list[HalfSpace]:
    """Return what is under each plane of the roof."""
    shape = roof(mass)
    slope, inward = shape.mass.slope, _inward(mass)
    runs = [inward[side] for side in shape.eave_sides]
    found = [((-slope * x, -slope * y, 1.0), shape.rise(c)) for x, y, c in runs]
    return list(dict.fromkeys(found))  # a flat roof has one


def _inward(mass: Mass) -> dict[Side, tuple[int, int, float]]:
    """Return the distance from each wall, as (x, y, constant): positive inwards."""
    return {
        "left": (1, 0, 0.0),
        "right": (-1, 0, mass.width),
        "front": (0, 1, 0.0),
        "back": (0, -1, mass.depth),
    }


def placed(points: Points, mass: Mass) -> Points:
    """Return points (…, 3) m of a mass's own coordinates in those of the house."""
    rotation, offset = placing(mass)
    out: Points = points @ rotation.T + offset
    return out


def placing(mass: Mass) -> tuple[Points, Points]:
    """Return the rotation (3, 3) and the shift (3,) that put a mass in its place."""
    c, s = np.cos(mass.rotate), np.sin(mass.rotate)
    rotation = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    return rotation, np.array([*mass.position, mass.base])
