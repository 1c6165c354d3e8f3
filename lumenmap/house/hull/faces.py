"""The outside of a house: all its masses as one solid, and the lines where they cut each other."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from lumenmap.house.masses.filled import room, slabs
from lumenmap.house.model import Face, House, Points
from lumenmap.solids.convex import DEEP, Convex, Many, passages
from lumenmap.solids.outside import outside
from lumenmap.solids.planes import crossings, normal

#: Which of two flush faces stays: that of the mass which the file names first; of one mass, that of
#: the roof. Its solid's number, then 0 for a roof and 1 for what is under it.
_Rank = tuple[int, int]


@lru_cache(maxsize=4)
def hull(house: House) -> tuple[Face, ...]:
    """Return the convex parts of all faces that no mass hides; parts of one face follow each other.

    Windows and doors are whole, or left out where another mass stands in front of them.
    """
    ranks, solids = _solids(house)
    masses = {mass.name: i for i, mass in enumerate(house.masses)}
    parts: list[Face] = []
    for face in house.faces:
        own = masses.get(face.mass or "", len(masses))
        near = [(ranks[k], solids.solids[k]) for k in solids.near(face.corners)]
        if face.kind in ("window", "door"):
            others = [(solid, False) for (mass, _), solid in near if mass != own]
            parts += [face] if outside(face.corners, others) else []
            continue
        part = face.name.removeprefix(f"{face.mass}/")
        roof = part.startswith(("roof", "soffit", "fascia-"))
        rank = (own, 0 if roof else 1)
        seen = outside(face.corners, [(solid, r < rank) for r, solid in near])
        parts += [replace(face, corners=corners) for corners in seen]
    return tuple(parts)


@lru_cache(maxsize=4)
def meetings(house: House) -> tuple[tuple[Face, Face, Points], ...]:
    """Return two faces and the line (2, 3) m in which they cut each other, as far as it is outside.

    They are walls and roofs of different masses. Two roofs meet in a valley.
    """
    faces = [f for f in house.faces if f.kind in ("roof", "wall")]
    _, solids = _solids(house)
    return tuple(
        (faces[i], faces[k], part)
        for i, k, line in crossings([f.corners for f in faces], [f.mass for f in faces])
        if beside(faces[i], faces[k], line) is not None
        and beside(faces[k], faces[i], line) is not None
        for part in _open(line, solids)
    )


def beside(face: Face, other: Face, line: Points) -> Points | None:
    """Return the unit vector (3,) on a face from a line (2, 3) to where it is outside another.

    None if the face ends at the line: then it lies flush in the other, and nothing is seen.
    """
    across = np.cross(normal(face.corners), line[1] - line[0])
    across *= np.sign(across @ normal(other.corners)) / np.linalg.norm(across)
    near = line.mean(0) + DEEP * across
    after = np.roll(face.corners, -1, axis=0) - face.corners
    inward = np.cross(normal(face.corners), after)
    unit: Points = across
    return unit if (np.einsum("kn,kn->k", inward, near - face.corners) >= 0).all() else None


def _solids(house: House) -> tuple[list[_Rank], Many]:
    """Return all solids of a house, and the rank of each."""
    found: list[tuple[_Rank, Convex]] = []
    for i, mass in enumerate(house.masses):
        found += [((i, 0), slab) for slab in slabs(mass)]
        if (inner := room(mass)) is not None:
            found.append(((i, 1), inner))
    return [rank for rank, _ in found], Many([solid for _, solid in found])


def _open(line: Points, solids: Many) -> list[Points]:
    """Return the parts (2, 3) of a line (2, 3) that no solid hides."""
    near = [solids.solids[k] for k in solids.near(line)]
    length = float(np.linalg.norm(line[1] - line[0]))
    ends = [0.0, *(end for pair in passages(near, line) for end in pair), length]
    way = (line[1] - line[0]) / length
    return [
        line[0] + way * np.array([[low], [high]])
        for low, high in zip(ends[::2], ends[1::2], strict=True)
        if high - low > 1e-6
    ]
