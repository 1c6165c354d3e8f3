"""A mass put in its place: shaped, rotated, moved, its names prefixed, its faces coloured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.house.choices import FaceKind, Side, Unit
from lumenmap.house.file import MassTable
from lumenmap.house.model import Edge, Face, Mass, Points
from lumenmap.house.roofs import roof
from lumenmap.house.walls import BOARD, add_openings, add_posts, add_trim, add_walls
from lumenmap.solids.convex import Convex, HalfSpace, half_spaces

#: Colours where the file gives none: our choice.
DOOR = "#5b2a22"
GLASS = "#20262c"
#: A point nearer to a face than this (m) is on it rather than inside: the accuracy of a tape and
#: of straight walls; common practice, no source.
TOLERANCE = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class PlacedMass:
    """A mass in the house's coordinates; ``planes``: the roof plane (K, 3) at each edge."""

    mass: Mass
    corners: dict[str, Points]
    edges: dict[str, Edge]
    faces: tuple[Face, ...]
    planes: dict[str, Points]


def place_mass(table: MassTable, unit: Unit) -> PlacedMass:
    """Return a mass in the house's coordinates; its corners, edges and faces are named ``mass/…``.

    Raises
    ------
    InputError
        No slope where the roof needs one, an opening outside its wall, an unknown colour.
    """
    mass = read_mass(table)
    shape = roof(mass)
    add_trim(shape)
    (add_walls if table.walls else add_posts)(shape)
    add_openings(shape, table, unit)
    rotation, offset = _placing(mass)

    def moved(points: Points) -> Points:
        out: Points = points @ rotation.T + offset
        return out

    own = mass.name
    faces = tuple(
        Face(f"{own}/{n}", kind, moved(points), _colour(n, kind, table), own)
        for n, (kind, points) in shape.faces.items()
    )
    return PlacedMass(
        mass,
        {f"{own}/{n}": moved(p) for n, p in shape.corners.items()},
        {
            f"{own}/{n}": Edge(f"{own}/{n}", r.kind, moved(r.points), rotation @ r.facing, own)
            for n, r in shape.edges.items()
        },
        faces,
        {
            f"{own}/{n}": moved(shape.faces[r.plane][1])
            for n, r in shape.edges.items()
            if r.plane is not None
        },
    )


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
    """Return the room inside the walls, up to the roof; None if the mass is an open roof."""
    if not mass.walls:
        return None
    solid = half_spaces(*_box(mass, 0.0), ((0.0, 0.0, -1.0), 0.0), *_planes(mass))
    return solid.moved(*_placing(mass))


def slabs(mass: Mass) -> tuple[Convex, ...]:
    """Return a slab `BOARD` thick for each roof plane, out to the end of its overhang.

    Slabs overlap at ridges and hips: each is all that lies under every plane and not far under its
    own.
    """
    planes, found = _planes(mass), []
    for (x, y, z), offset in planes:
        under = ((-x, -y, -z), BOARD - offset)
        found.append(half_spaces(*_box(mass, mass.overhang), *planes, under))
    return tuple(solid.moved(*_placing(mass)) for solid in found)


def _box(mass: Mass, out: float) -> list[HalfSpace]:
    """Return the sides of the walls' outline, ``out`` m outside them."""
    return [((-x, -y, 0.0), c + out) for x, y, c in _inward(mass).values()]


def _planes(mass: Mass) -> list[HalfSpace]:
    """Return what is under each plane of the roof."""
    shape = roof(mass)
    slope, inward = shape.mass.slope, _inward(mass)
    runs = [inward[side] for side in shape.eave_sides]
    found = [
        ((-slope * x, -slope * y, 1.0), mass.eave + slope * (c + mass.overhang)) for x, y, c in runs
    ]
    return list(dict.fromkeys(found))  # a flat roof has one


def _inward(mass: Mass) -> dict[Side, tuple[int, int, float]]:
    """Return the distance from each wall, as (x, y, constant): positive inwards."""
    return {
        "left": (1, 0, 0.0),
        "right": (-1, 0, mass.width),
        "front": (0, 1, 0.0),
        "back": (0, -1, mass.depth),
    }


def _placing(mass: Mass) -> tuple[Points, Points]:
    """Return the rotation (3, 3) and the shift (3,) that put a mass in its place."""
    c, s = np.cos(mass.rotate), np.sin(mass.rotate)
    rotation = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    return rotation, np.array([*mass.position, mass.base])


def read_mass(table: MassTable) -> Mass:
    """Return a file's mass in metres."""
    if table.slope is None and table.roof != "flat":
        raise InputError(
            f'a {table.roof} roof needs a slope: rise in run, "8/12", or an angle, "33.7 deg"',
            key="slope",
        )
    return Mass(
        name=table.name,
        roof=table.roof,
        width=float(table.width),
        depth=float(table.depth),
        eave=float(table.eave),
        slope=table.slope or 0.0,
        overhang=float(table.overhang),
        position=(float(table.position[0]), float(table.position[1])),
        rotate=table.rotate,
        base=float(table.base),
        ridge=table.ridge,
        high=table.high,
        walls=table.walls,
    )


def _colour(name: str, kind: FaceKind, table: MassTable) -> tuple[float, float, float]:
    if kind == "door":
        number = int(name.split("-")[1])
        given, key = table.door[number].colour or DOOR, f"door {number + 1}, colour"
    else:
        key = {"roof": "roof_colour", "wall": "wall_colour"}.get(kind, "trim_colour")
        given = GLASS if kind == "window" else getattr(table, key)
    try:
        return reflectance(given)
    except InputError as error:
        raise error.at(key=key) from None


def reflectance(text: str) -> tuple[float, float, float]:
    """Return a CSS colour as linear reflectance (IEC 61966-2-1 transfer).

    Raises
    ------
    InputError
        It isn't a CSS colour.
    """
    from PIL import ImageColor

    try:
        rgb = ImageColor.getrgb(text[:60])[:3]
    except ValueError:
        raise InputError(
            f'"{text[:40]}" isn\'t a CSS colour; expected one like "#b8b09c"'
        ) from None
    r, g, b = (_decode(v / 255) for v in rgb)
    return r, g, b


def _decode(v: float) -> float:
    return float(v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4)
