"""What stands under a roof: walls or posts, the boards at its rim, windows and doors."""

from __future__ import annotations

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.core.units import show_length
from lumenmap.house.file import MassTable, OpeningTable
from lumenmap.house.model import Points
from lumenmap.house.shape import Shape

#: Depth of the fascia board under the roof's edge (m), common practice, no source.
BOARD = 0.16
#: Thickness of a post under an open roof (m), common practice, no source.
POST = 0.12


def walls(shape: Shape) -> None:
    """Add the four walls, each from its lower left corner as seen from outside."""
    w, d = shape.mass.width, shape.mass.depth
    feet = {
        "front": ((0, 0), (w, 0)),
        "right": ((w, 0), (w, d)),
        "back": ((w, d), (0, d)),
        "left": ((0, d), (0, 0)),
    }
    for side, (a, b) in feet.items():
        crown = [shape.crowns[side]] if side in shape.crowns else []
        ring = [(*a, 0), (*b, 0), (*b, shape.height(*b)), *crown, (*a, shape.height(*a))]
        shape.face(f"wall-{side}", "wall", np.array(ring, float))


def posts(shape: Shape) -> None:
    """Add a post in each corner instead of walls, and the edge that runs up it."""
    w, d, t = shape.mass.width, shape.mass.depth, POST
    feet = {
        "front-left": (0, 0),
        "front-right": (w - t, 0),
        "back-right": (w - t, d - t),
        "back-left": (0, d - t),
    }
    for name, (x, y) in feet.items():
        top = shape.height(x + t / 2, y + t / 2)
        shape.corner(f"post-{name}-foot", x + t / 2, y + t / 2, 0)
        shape.corner(f"post-{name}-top", x + t / 2, y + t / 2, top)
        shape.edge(f"post-{name}", "post", f"post-{name}-foot", f"post-{name}-top", (0, -1, 0))
        ring = [(x, y), (x + t, y), (x + t, y + t), (x, y + t)]
        for i, (a, b) in enumerate(zip(ring, ring[1:] + ring[:1], strict=True)):
            quad = [(*a, 0), (*b, 0), (*b, top), (*a, top)]
            shape.face(f"post-{name}-{i}", "fascia", np.array(quad, float))


def boards(shape: Shape) -> None:
    """Hang a fascia board from the rim and close the roof from below."""
    drop = np.array([0, 0, BOARD])
    for name, rim in shape.edges.items():
        if rim.below:
            a, b = rim.points
            shape.face(f"fascia-{name}", "fascia", np.array([a - drop, b - drop, b, a]))
    for name, (kind, corners) in list(shape.faces.items()):
        if kind == "roof":
            under = (corners - drop)[::-1]
            shape.face(name.replace("roof", "soffit", 1), "soffit", under)


def openings(shape: Shape, table: MassTable, unit: str) -> None:
    """Put windows and doors on the walls.

    Raises
    ------
    InputError
        One reaches beyond its wall, or there are no walls.
    """
    for kind, given in (("window", table.window), ("door", table.door)):
        for i, opening in enumerate(given):
            if not table.walls:
                raise InputError("this mass has walls = false, so it has no openings", key=kind)
            wall = shape.faces[f"wall-{opening.wall}"][1]
            shape.face(f"{kind}-{i}", kind, _opening(wall, opening, f"{kind} {i + 1}", unit))


def _opening(wall: Points, opening: OpeningTable, key: str, unit: str) -> Points:
    along = wall[1] - wall[0]
    length = float(np.linalg.norm(along))
    half, at, low = float(opening.width) / 2, float(opening.at), float(opening.sill)
    high = low + float(opening.height)
    if at - half < 0 or at + half > length or high > wall[:, 2].max():

        def say(v: float) -> str:
            return show_length(v, unit)

        raise InputError(
            f"{say(2 * half)} wide around {say(at)}, up to {say(high)}, is beyond the "
            f"{opening.wall} wall, {say(length)} long and {say(float(wall[:, 2].max()))} high",
            key=key,
        )
    way = along / length
    spots = ((at - half, low), (at + half, low), (at + half, high), (at - half, high))
    return np.array([wall[0] + way * x + [0, 0, z] for x, z in spots])
