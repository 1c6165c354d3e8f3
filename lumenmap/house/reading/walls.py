"""What is under a roof: walls or posts, windows and doors, and the trim round its edge."""

from __future__ import annotations

from typing import Literal

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_length
from lumenmap.house.choices import Unit
from lumenmap.house.masses.filled import BOARD
from lumenmap.house.masses.kinds import EdgeKind, Side
from lumenmap.house.masses.shape import OUTWARD, Shape, ShapeEdge
from lumenmap.house.model import Points
from lumenmap.house.reading.mass_table import MassTable, OpeningTable

#: How far in front of the wall the edge round an opening runs (m), common practice, no source.
OFF_WALL = 0.02
#: The side at the left end of each wall, seen from outside.
LEFT_OF: dict[Side, Side] = {"front": "left", "right": "front", "back": "right", "left": "back"}
#: Thickness of a post under an open roof (m), common practice, no source.
POST = 0.12
#: The least x, y, z of a wall as seen from its floor: below it there may be a plinth.
_FROM_FLOOR = (-np.inf, -np.inf, 0.0)


def add_walls(shape: Shape) -> None:
    """Add the four walls, each from its lower left corner as seen from outside.

    A mass that hangs above the ground, such as an oriel, has an underside too.
    """
    w, d, low = shape.mass.width, shape.mass.depth, -shape.mass.foot
    feet = {
        "front": ((0, 0), (w, 0)),
        "right": ((w, 0), (w, d)),
        "back": ((w, d), (0, d)),
        "left": ((0, d), (0, 0)),
    }
    for side, (a, b) in feet.items():
        peak = [shape.gable_peaks[side]] if side in shape.gable_peaks else []
        ring = [(*a, low), (*b, low), (*b, shape.height(*b)), *peak, (*a, shape.height(*a))]
        shape.face(f"wall-{side}", "wall", np.array(ring, float))
    if shape.mass.base > shape.mass.foot:
        under = [(0, 0, 0), (0, d, 0), (w, d, 0), (w, 0, 0)]
        shape.face("underside", "soffit", np.array(under, float))


def add_posts(shape: Shape) -> None:
    """Add a post in each corner instead of walls, and the edge up its front, from the floor."""
    w, d, t, low = shape.mass.width, shape.mass.depth, POST, -shape.mass.foot
    feet = {
        "front-left": (0, 0),
        "front-right": (w - t, 0),
        "back-right": (w - t, d - t),
        "back-left": (0, d - t),
    }
    for name, (x, y) in feet.items():
        top = shape.height(x + t / 2, y)
        shape.corner(f"post-{name}-foot", x + t / 2, y, 0)
        shape.corner(f"post-{name}-top", x + t / 2, y, top)
        ends = (f"post-{name}-foot", f"post-{name}-top")
        shape.edge(f"post-{name}", "post", ends, (0, -1, 0))
        ring = [(x, y), (x + t, y), (x + t, y + t), (x, y + t)]
        high = min(shape.height(*corner) for corner in ring)  # none of it is above the roof
        for i, (a, b) in enumerate(zip(ring, ring[1:] + ring[:1], strict=True)):
            quad = [(*a, low), (*b, low), (*b, high), (*a, high)]
            shape.face(f"post-{name}-{i}", "fascia", np.array(quad, float))


def add_trim(shape: Shape) -> None:
    """Add a fascia board along the eaves and rakes, and soffits below the roof."""
    drop = np.array([0, 0, BOARD])
    for name, edge in shape.edges.items():
        if edge.fascia:
            a, b = edge.points
            shape.face(f"fascia-{name}", "fascia", np.array([a - drop, b - drop, b, a]))
    for name, (kind, corners) in list(shape.faces.items()):
        if kind == "roof":
            under = (corners - drop)[::-1]
            shape.face(name.replace("roof", "soffit", 1), "soffit", under)


def add_openings(shape: Shape, table: MassTable, unit: Unit) -> None:
    """Put windows and doors on the walls.

    Raises
    ------
    InputError
        An opening reaches beyond its wall, there are no walls, or a name is used twice.
    """
    kinds: tuple[tuple[Literal["window", "door"], list[OpeningTable]], ...] = (
        ("window", table.window),
        ("door", table.door),
    )
    longer = shape.mass.longer
    for kind, given in kinds:
        for i, opening in enumerate(given):
            if not table.walls:
                raise InputError("has no wall to be in: this mass has walls = false", key=kind)
            wall = np.maximum(shape.faces[f"wall-{opening.wall}"][1], _FROM_FLOOR)
            if longer and longer.side == LEFT_OF[opening.wall]:
                # Its wall's left end is where it was before the wall went on.
                way = (wall[1] - wall[0]) / np.linalg.norm(wall[1] - wall[0])
                wall = np.concatenate([[wall[0] + longer.by * way], wall[1:]])
            corners = _opening(wall, opening, f"{kind} {i + 1}", unit)
            shape.face(f"{kind}-{i}", kind, corners)
            name = opening.name or f"{kind} {i + 1}"
            if name in shape.edges:
                raise InputError(
                    f'is named "{name}", as another edge of this mass is', key=f"{kind} {i + 1}"
                )
            shape.edges[name] = _round_opening(corners, kind, OUTWARD[opening.wall])


def _round_opening(corners: Points, kind: EdgeKind, outward: tuple[int, int, int]) -> ShapeEdge:
    """Return the edge round an opening: up its left side, over the top, down, back on the sill."""
    low_left, low_right, high_right, high_left = corners + np.array(outward) * OFF_WALL
    points = [low_left, high_left, high_right, low_right]
    if kind == "window":
        points.append(low_left)
    return ShapeEdge(kind, np.array(points), np.array(outward, float), None, fascia=False)


def _opening(wall: Points, opening: OpeningTable, key: str, unit: Unit) -> Points:
    along = wall[1] - wall[0]
    length = float(np.linalg.norm(along))
    half, at, low = float(opening.width) / 2, float(opening.at), float(opening.sill)
    high = low + float(opening.height)
    if at - half < 0 or at + half > length or high > wall[:, 2].max():

        def shown(v: float) -> str:
            return show_length(v, unit)

        raise InputError(
            f"{shown(2 * half)} wide around {shown(at)}, up to {shown(high)}, reaches beyond the "
            f"{opening.wall} wall, {shown(length)} long and {shown(float(wall[:, 2].max()))} high",
            key=key,
        )
    along /= length
    corners = ((at - half, low), (at + half, low), (at + half, high), (at - half, high))
    return np.array([wall[0] + along * x + [0, 0, z] for x, z in corners])
