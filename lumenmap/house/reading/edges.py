"""``[[edge]]`` tables: edges by points, edges by legs, valleys, and more about known edges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from lumenmap.core.errors import InputError, each, unknown
from lumenmap.core.lengths import show_length
from lumenmap.house.choices import Facing, Unit
from lumenmap.house.masses.kinds import EdgeKind
from lumenmap.house.masses.mass import Mass
from lumenmap.house.masses.roofs import intersection
from lumenmap.house.masses.shape import OUTWARD
from lumenmap.house.model import Edge, Points
from lumenmap.house.rails import Rail
from lumenmap.house.reading.file import EdgeTable
from lumenmap.house.reading.legs import traverse
from lumenmap.house.reading.rail import edge_rail

_FACING: dict[Facing, tuple[int, int, int]] = {
    "front": OUTWARD["front"],
    "right": OUTWARD["right"],
    "back": OUTWARD["back"],
    "left": OUTWARD["left"],
    "up": (0, 0, 1),
    "down": (0, 0, -1),
}


@dataclass(slots=True, eq=False)
class EdgeContext:
    """What edges refer to, and what reading them adds to: corners, edges, notes."""

    unit: Unit
    front_faces: float
    rail: Rail
    masses: tuple[Mass, ...]
    planes: Mapping[str, Points]
    corners: dict[str, Points]
    edges: dict[str, Edge]
    notes: list[str] = field(default_factory=list)


def add_edges(tables: list[EdgeTable], context: EdgeContext) -> None:
    """Read the edges of a file in order.

    Raises
    ------
    InputError
        A name used twice, too many or too few keys, or an unknown corner or edge.
    """
    seen: set[str] = set()

    def add(table: EdgeTable) -> None:
        key = f'edge "{table.name}"'
        if table.name in seen:
            raise InputError("another edge has this name", key=key)
        seen.add(table.name)
        try:
            context.edges[table.name] = _edge(table, context)
        except InputError as error:
            raise InputError(
                error.message,
                key=error.key if key in error.key else f"{key}, {error.key}" if error.key else key,
            ) from None

    each(add, tables)


def _edge(table: EdgeTable, context: EdgeContext) -> Edge:
    given = [n for n in ("points", "legs", "between") if getattr(table, n) is not None]
    if table.name in context.edges:
        if given:
            raise InputError("another edge has this name")
        edge = context.edges[table.name]
    elif len(given) == 1:
        edge = _new(table, context)
    elif given:
        raise InputError(f"has {' and '.join(given)}; expected one of points, legs, between")
    else:
        hint = unknown("edge", table.name, context.edges)
        raise InputError(f"expected points, legs or between; {hint}")
    return replace(
        edge,
        measured=table.measured or edge.measured,
        facing=_facing(table.facing, edge.facing),
        rail=edge_rail(table, context.rail, context.unit),
        flexible=table.flexible,
    )


def _new(table: EdgeTable, context: EdgeContext) -> Edge:
    kind: EdgeKind = table.kind or "rail line"
    facing = np.array(OUTWARD["front"], float)
    if table.between is not None:
        points, facing = _valley(table.between, context)
        kind = table.kind or "valley"
    elif table.legs is not None:
        walked = traverse(
            _start(table, context), table.legs, context.front_faces, table.closed, context.unit
        )
        points = walked.points
        if walked.misclosure is not None:
            context.notes.append(_closure_note(table.name, walked.misclosure, points, context.unit))
    else:
        points = np.array([[float(v) for v in p] for p in table.points or []])
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    if not (steps > 1e-6).all():
        raise InputError("two points in a row are the same", key="points")
    context.corners[f"{table.name}/start"] = points[0]
    context.corners[f"{table.name}/end"] = points[-1]
    if table.between is None and _closes(points):
        facing = _outward(points, facing)
    return Edge(table.name, kind, points, facing)


def _closes(points: Points) -> bool:
    return len(points) > 3 and float(np.linalg.norm(points[-1] - points[0])) < 1e-6


def _outward(points: Points, front: Points) -> Points:
    """Return the direction out of each side of a closed line (K - 1, 3).

    A side that rises straight up, or a loop without area as seen from above, faces the front.
    """
    step = np.diff(points, axis=0)
    here, there = points[:-1], points[1:]
    area = float(np.sum(here[:, 0] * there[:, 1] - there[:, 0] * here[:, 1]))
    out = np.stack([step[:, 1], -step[:, 0], 0 * step[:, 2]], axis=1)
    size = np.linalg.norm(out, axis=1, keepdims=True)
    if abs(area) < 1e-6:
        return front
    level = out * np.sign(area) / np.maximum(size, 1e-9)
    return np.where(size > 1e-6, level, front)


def _closure_note(name: str, misclosure: float, points: Points, unit: Unit) -> str:
    total = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    if misclosure < 1e-4:
        return f'edge "{name}": the loop of {show_length(total, unit)} closes'
    return (
        f'edge "{name}": the loop of {show_length(total, unit)} misses its start by '
        f"{show_length(misclosure, unit)} (1 in {total / misclosure:.0f}); "
        "the difference is distributed over the legs in proportion to their length"
    )


def _start(table: EdgeTable, context: EdgeContext) -> Points:
    if isinstance(table.start, str):
        if table.start not in context.corners:
            raise InputError(unknown("corner", table.start, context.corners), key="start")
        return context.corners[table.start]
    if table.start is None:
        raise InputError("is missing; legs start at a corner or at [x, y, z]", key="start")
    return np.array([float(v) for v in table.start])


def _valley(names: tuple[str, str], context: EdgeContext) -> tuple[Points, Points]:
    for i, name in enumerate(names):
        if name not in context.planes:
            text = (
                "isn't the edge of a roof plane; expected an eave or rake of a mass"
                if name in context.edges
                else unknown("edge", name, context.planes)
            )
            raise InputError(text, key=f"between item {i + 1}")
    try:
        return intersection(context.planes[names[0]], context.planes[names[1]])
    except InputError as error:
        raise error.at(key="between") from None


def _facing(given: Facing | float | None, own: Points) -> Points:
    if given is None:
        return own
    if isinstance(given, str):
        return np.array(_FACING[given], float)
    return np.array([np.cos(given), np.sin(given), 0.0])
