"""A mass put in its place: shaped, rotated, moved, its names prefixed, its faces coloured."""

from __future__ import annotations

from dataclasses import dataclass

from lumenmap.core.errors import InputError
from lumenmap.house.choices import Unit
from lumenmap.house.file import MassTable
from lumenmap.house.masses.filled import placing
from lumenmap.house.masses.kinds import FaceKind
from lumenmap.house.masses.mass import Mass
from lumenmap.house.masses.roofs import roof
from lumenmap.house.model import Edge, Face, Points
from lumenmap.house.walls import add_openings, add_posts, add_trim, add_walls

#: Colours where the file gives none: our choice.
DOOR = "#5b2a22"
GLASS = "#20262c"


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
    rotation, offset = placing(mass)

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
