"""A mass put in its place: shaped, rotated, moved, its names prefixed, its faces coloured."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from lumenmap.colour.css import colour
from lumenmap.core.errors import InputError
from lumenmap.house.choices import Unit
from lumenmap.house.masses.filled import placed, placing, solids
from lumenmap.house.masses.kinds import FaceKind, Side
from lumenmap.house.masses.leaning import cut_off, leaned
from lumenmap.house.masses.mass import Mass, Overhang
from lumenmap.house.masses.roofs import eave_sides, roof
from lumenmap.house.masses.shape import SIDES
from lumenmap.house.masses.standing import standing
from lumenmap.house.model import Edge, Face, Points
from lumenmap.house.reading.mass_table import MassTable, OverhangTable
from lumenmap.house.reading.walls import add_openings, add_posts, add_trim, add_walls
from lumenmap.solids.convex import Convex

#: Colours where the file gives none: our choice.
DOOR = "#5b2a22"
GLASS = "#20262c"


class PlacedMass(NamedTuple):
    """A mass in the house's coordinates; ``planes``: the roof plane (K, 3) at each edge."""

    mass: Mass
    corners: dict[str, Points]
    edges: dict[str, Edge]
    faces: tuple[Face, ...]
    planes: dict[str, Points]


def place_mass(table: MassTable, others: Mapping[str, Mass | None], unit: Unit) -> PlacedMass:
    """Return a mass in the house's coordinates; its corners, edges and faces are named ``mass/…``.

    Parameters
    ----------
    others
        All masses as they are written, by name, which this one may lean or stand on.

    Raises
    ------
    InputError
        No slope where the roof needs one, an opening outside its wall, an unknown colour, a mass to
        lean on that isn't there.
    """
    mass = standing(leaned(read_mass(table), others), others)
    _require_hip_end(mass)
    shape = roof(mass)
    add_trim(shape)
    (add_walls if table.walls else add_posts)(shape)
    add_openings(shape, table, unit)
    own, (rotation, _) = mass.name, placing(mass)
    edges = {
        n: Edge(f"{own}/{n}", r.kind, placed(r.points, mass), rotation @ r.facing, own)
        for n, r in shape.edges.items()
    }
    corners = {n: placed(p, mass) for n, p in shape.corners.items()}
    if (on := others.get(mass.leans_on or "")) is not None:
        with contextlib.suppress(InputError):  # told of that mass itself
            edges, corners = _cut_off(edges, corners, solids(leaned(on, others)))
    faces = tuple(
        Face(f"{own}/{n}", kind, placed(points, mass), _colour(n, kind, table), own)
        for n, (kind, points) in shape.faces.items()
    )
    return PlacedMass(
        mass,
        {f"{own}/{n}": p for n, p in corners.items()},
        {e.name: e for e in edges.values()},
        faces,
        {
            f"{own}/{n}": placed(shape.faces[r.plane][1], mass)
            for n, r in shape.edges.items()
            if r.plane is not None and n in edges
        },
    )


def _cut_off(
    edges: dict[str, Edge], corners: dict[str, Points], on: Sequence[Convex]
) -> tuple[dict[str, Edge], dict[str, Points]]:
    """Return edges as far as they are outside what their mass leans on, and corners at their ends.

    A corner inside it goes to where its edge ends, or is left out.
    """
    left: dict[str, Edge] = {}
    ends: list[tuple[Points, Points]] = []
    for name, edge in edges.items():
        points = cut_off(edge.points, on)
        if points is not None:
            left[name] = replace(edge, points=points)
            ends += zip(edge.points[[0, -1]], points[[0, -1]], strict=True)
    moved = {
        name: next((new for old, new in ends if np.array_equal(old, point)), None)
        for name, point in corners.items()
    }
    return left, {name: point for name, point in moved.items() if point is not None}


def read_mass(table: MassTable) -> Mass:
    """Return a file's mass in metres.

    Raises
    ------
    InputError
        No slope where the roof needs one, or keys that don't go together.
    """
    if table.slope is None and table.roof != "flat":
        raise InputError(
            f'a {table.roof} roof needs a slope: rise in run, "8/12", or an angle, "33.7 deg"',
            key="slope",
        )
    mass = Mass(
        name=table.name,
        roof=table.roof,
        width=float(table.width),
        depth=float(table.depth),
        eave=float(table.eave),
        slope=table.slope or 0.0,
        overhang=Overhang(),
        position=(float(table.position[0]), float(table.position[1])),
        rotate=table.rotate,
        base=float(table.base),
        ridge=table.ridge,
        high=table.high,
        walls=table.walls,
        hip_end=table.hip_end,
        leans_on=table.leans_on,
    )
    _require_hip_end(mass)
    return mass._replace(overhang=_overhang(table, eave_sides(mass)))


def _require_hip_end(mass: Mass) -> None:
    """Refuse a hip end that this roof can't have."""
    if mass.hip_end is None:
        return
    if mass.roof != "gable":
        raise InputError(f'goes with roof = "gable"; this one is "{mass.roof}"', key="hip_end")
    ends: tuple[Side, Side] = ("front", "back") if mass.ridge == "away" else ("left", "right")
    if mass.hip_end not in ends:
        raise InputError(
            f'is "{mass.hip_end}", but the ridge runs {mass.ridge}; expected "{ends[0]}" or '
            f'"{ends[1]}"',
            key="hip_end",
        )
    long, wide = (mass.depth, mass.width) if mass.ridge == "away" else (mass.width, mass.depth)
    if long <= wide / 2:
        raise InputError(
            "its hip would reach the other end; along its ridge, a mass with one hip end is more "
            "than half as long as it is wide",
            key="hip_end",
        )


def _overhang(table: MassTable, eaves: tuple[Side, ...]) -> Overhang:
    """Return the overhang of each side; eaves that meet at a corner have one."""
    given = table.overhang
    if not isinstance(given, OverhangTable):
        return Overhang(*[float(given)] * 4)
    sides = {side: getattr(given, side) for side in SIDES}
    every = {
        side: float((given.eaves if side in eaves else given.rakes) if own is None else own)
        for side, own in sides.items()
    }
    meeting = sorted(eaves, key=SIDES.index) if len(eaves) > 2 and table.roof != "flat" else []
    if len({every[side] for side in meeting}) > 1:
        raise InputError(
            f"the eaves at the {', '.join(meeting[:-1])} and {meeting[-1]} meet at corners, so "
            "they have one overhang; write eaves for all of them",
            key="overhang",
        )
    return Overhang(**every)


def _colour(name: str, kind: FaceKind, table: MassTable) -> tuple[float, float, float]:
    """Return the linear reflectance of a face, of which the file gives the colour."""
    if kind == "door":
        number = int(name.split("-")[1])
        given, key = table.door[number].colour or DOOR, f"door {number + 1}, colour"
    else:
        key = {"roof": "roof_colour", "wall": "wall_colour"}.get(kind, "trim_colour")
        given = GLASS if kind == "window" else getattr(table, key)
    try:
        r, g, b = np.clip(colour(given), 0, 1).tolist()
    except InputError as error:
        raise error.at(key=key) from None
    return r, g, b
