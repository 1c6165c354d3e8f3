"""A mass put on the ground: shaped, turned, moved, its names prefixed, its faces coloured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.house.file import MassTable
from lumenmap.house.model import Edge, Face, Mass, Points
from lumenmap.house.paint import paint
from lumenmap.house.roofs import roof
from lumenmap.house.walls import boards, openings, posts, walls

DOOR = "#5b2a22"
GLASS = "#20262c"


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A mass in the house's frame; ``planes``: the roof plane (K, 3) that each edge bounds."""

    mass: Mass
    corners: dict[str, Points]
    edges: dict[str, Edge]
    faces: tuple[Face, ...]
    planes: dict[str, Points]


def placed(table: MassTable, unit: str) -> Placed:
    """Return a mass with its corners, edges and faces, named ``mass/…``, in the house's frame.

    Raises
    ------
    InputError
        No slope where the roof needs one, an opening outside its wall, a colour that is none.
    """
    mass = measures(table)
    shape = roof(mass)
    boards(shape)
    (walls if table.walls else posts)(shape)
    openings(shape, table, unit)
    c, s = np.cos(mass.heading), np.sin(mass.heading)
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    move = np.array([*mass.position, mass.base])

    def there(points: Points) -> Points:
        out: Points = points @ turn.T + move
        return out

    own = mass.name
    faces = tuple(
        Face(f"{own}/{n}", kind, there(points), _colour(n, kind, table), own)
        for n, (kind, points) in shape.faces.items()
    )
    return Placed(
        mass,
        {f"{own}/{n}": there(p) for n, p in shape.corners.items()},
        {
            f"{own}/{n}": Edge(f"{own}/{n}", r.kind, there(r.points), turn @ r.facing, own)
            for n, r in shape.edges.items()
        },
        faces,
        {
            f"{own}/{n}": there(shape.faces[r.plane][1])
            for n, r in shape.edges.items()
            if r.plane is not None
        },
    )


def measures(table: MassTable) -> Mass:
    """Return a file's mass in metres."""
    if table.slope is None and table.roof != "flat":
        raise InputError(
            f'a {table.roof} roof needs its rise in run, "8/12", or its angle, "33.7 deg"',
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
        heading=table.heading,
        base=float(table.base),
        ridge=table.ridge,
        high=table.high,
        walls=table.walls,
    )


def _colour(name: str, kind: str, table: MassTable) -> tuple[float, float, float]:
    if kind == "door":
        number = int(name.split("-")[1])
        given, key = table.door[number].colour or DOOR, f"door {number + 1}, colour"
    else:
        key = {"roof": "roof_colour", "wall": "wall_colour"}.get(kind, "trim_colour")
        given = GLASS if kind == "window" else getattr(table, key)
    try:
        return paint(given)
    except InputError as error:
        raise error.at(key=key) from None
