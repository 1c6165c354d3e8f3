"""A mass put on the ground: turned, moved, its names prefixed, its faces coloured."""

from __future__ import annotations

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.house.file import MassTable, OpeningTable
from lumenmap.house.gable import Shape, gable
from lumenmap.house.model import Edge, Face, Mass, Points

_TRIM = ("fascia", "soffit")
DOOR = "#5b2a22"
GLASS = "#20262c"


def mass(table: MassTable) -> Mass:
    """Return a file's mass in metres."""
    return Mass(
        name=table.name,
        roof=table.roof,
        width=float(table.width),
        depth=float(table.depth),
        eave=float(table.eave),
        slope=table.slope,
        overhang=float(table.overhang),
        position=(float(table.position[0]), float(table.position[1])),
        heading=table.heading,
        base=float(table.base),
    )


def parts(table: MassTable) -> tuple[Mass, dict[str, Points], dict[str, Edge], list[Face]]:
    """Return a mass and its corners, edges and faces, named ``mass/…`` and in the house's frame.

    Raises
    ------
    InputError
        An opening outside its wall, or a colour that is none.
    """
    block = mass(table)
    shape = gable(block, table.ridge == "across")
    c, s = np.cos(block.heading), np.sin(block.heading)
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    move = np.array([*block.position, block.base])
    name = block.name
    corners = {f"{name}/{n}": turn @ p + move for n, p in shape.corners.items()}
    edges = {
        f"{name}/{n}": Edge(f"{name}/{n}", kind, points @ turn.T + move, turn @ facing, name)
        for n, (kind, points, facing) in shape.edges.items()
    }
    _openings(shape, table)
    faces = [
        Face(f"{name}/{n}", kind, points @ turn.T + move, _colour(n, kind, table), name)
        for n, (kind, points) in shape.faces.items()
    ]
    return block, corners, edges, faces


def _openings(shape: Shape, table: MassTable) -> None:
    for kind, openings in (("window", table.window), ("door", table.door)):
        for i, opening in enumerate(openings):
            corners = shape.faces[f"wall-{opening.wall}"][1]
            shape.faces[f"{kind}-{i}"] = (kind, _opening(corners, opening, kind, i))


def _opening(wall: Points, opening: OpeningTable, kind: str, i: int) -> Points:
    along = wall[1] - wall[0]
    length = float(np.linalg.norm(along))
    half = float(opening.width) / 2
    at, low = float(opening.at), float(opening.sill)
    high = low + float(opening.height)
    if at - half < 0 or at + half > length or high > wall[:, 2].max():
        raise InputError(
            f"is {float(opening.width):.2f} × {float(opening.height):.2f} m around "
            f"{at:.2f} m, which is beyond the {opening.wall} wall of {length:.2f} m",
            key=f"{kind}[{i}]",
        )
    unit = along / length
    return np.array(
        [wall[0] + unit * x + [0, 0, z] for x, z in
         ((at - half, low), (at + half, low), (at + half, high), (at - half, high))]
    )  # fmt: skip


def _colour(name: str, kind: str, table: MassTable) -> tuple[float, float, float]:
    if kind == "window":
        return linear(GLASS)
    if kind == "door":
        return linear(table.door[int(name.split("-")[1])].colour or DOOR)
    if kind in _TRIM:
        return linear(table.trim_colour)
    return linear(table.roof_colour if kind == "roof" else table.wall_colour)


def linear(text: str) -> tuple[float, float, float]:
    """Return a CSS colour as linear reflectance (IEC 61966-2-1 transfer).

    Raises
    ------
    InputError
        It is no colour.
    """
    from PIL import ImageColor

    try:
        rgb = ImageColor.getrgb(text[:60])[:3]
    except ValueError:
        raise InputError(f'"{text[:40]}" is no CSS colour; wanted one like "#b8b09c"') from None
    r, g, b = (_decode(v / 255) for v in rgb)
    return r, g, b


def _decode(v: float) -> float:
    return float(v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4)
