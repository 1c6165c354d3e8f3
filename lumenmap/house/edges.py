"""The file's ``[[edge]]`` tables: edges by points, by legs, valleys, and more about known edges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import show_length
from lumenmap.house.file import EdgeTable
from lumenmap.house.legs import walk
from lumenmap.house.model import Edge, Mass, Points, Rail
from lumenmap.house.rail import own_rail
from lumenmap.house.shape import OUT
from lumenmap.house.valley import meeting

_WAYS = {**OUT, "up": (0, 0, 1), "down": (0, 0, -1)}


@dataclass(slots=True, eq=False)
class Frame:
    """What edges are read against, and what they add to: corners, edges, notes."""

    unit: str
    front_faces: float
    rail: Rail
    masses: tuple[Mass, ...]
    planes: Mapping[str, Points]
    corners: dict[str, Points]
    edges: dict[str, Edge]
    notes: list[str] = field(default_factory=list)


def add_edges(tables: list[EdgeTable], frame: Frame) -> None:
    """Read the edges of a file in their order.

    Raises
    ------
    InputError
        A name used twice, too much or too little said, or a place that is none.
    """
    seen: set[str] = set()
    for table in tables:
        key = f'edge "{table.name}"'
        if table.name in seen:
            raise InputError("there is another edge of this name", key=key)
        seen.add(table.name)
        try:
            frame.edges[table.name] = _edge(table, frame)
        except InputError as error:
            raise InputError(
                error.message,
                key=error.key if key in error.key else f"{key}, {error.key}" if error.key else key,
            ) from None


def _edge(table: EdgeTable, frame: Frame) -> Edge:
    ways = [n for n in ("points", "legs", "between") if getattr(table, n) is not None]
    if table.name in frame.edges:
        if ways:
            raise InputError("there is another edge of this name")
        made = frame.edges[table.name]
    elif len(ways) == 1:
        made = _new(table, frame)
    elif ways:
        raise InputError(f"has {' and '.join(ways)}; wanted one of points, legs, between")
    else:
        hint = unknown("edge", table.name, frame.edges)
        raise InputError(f"wanted points, legs or between; and {hint}")
    return replace(
        made,
        measured=table.measured or made.measured,
        facing=_facing(table.facing, made.facing),
        rail=own_rail(table, frame.rail, frame.unit),
        flexible=table.flexible,
    )


def _new(table: EdgeTable, frame: Frame) -> Edge:
    kind, facing = table.kind or "rail line", np.array(OUT["front"], float)
    if table.between is not None:
        points, facing = _valley(table.between, frame)
        kind = table.kind or "valley"
    elif table.legs is not None:
        walked = walk(_start(table, frame), table.legs, frame.front_faces, table.closed, frame.unit)
        points = walked.points
        if walked.missed is not None:
            frame.notes.append(_closure(table.name, walked.missed, points, frame.unit))
    else:
        points = np.array([[float(v) for v in p] for p in table.points or []])
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    if not (steps > 1e-6).all():
        raise InputError("two points in a row are the same", key="points")
    frame.corners[f"{table.name}/start"] = points[0]
    frame.corners[f"{table.name}/end"] = points[-1]
    return Edge(table.name, kind, points, facing)


def _closure(name: str, missed: float, points: Points, unit: str) -> str:
    total = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    if missed < 1e-4:
        return f'edge "{name}": the loop of {show_length(total, unit)} closes'
    return (
        f'edge "{name}": the loop of {show_length(total, unit)} misses its start by '
        f"{show_length(missed, unit)} (1 in {total / missed:.0f}); "
        "the miss is shared out over the legs by their length"
    )


def _start(table: EdgeTable, frame: Frame) -> Points:
    if isinstance(table.start, str):
        if table.start not in frame.corners:
            raise InputError(unknown("corner", table.start, frame.corners), key="start")
        return frame.corners[table.start]
    if table.start is None:
        raise InputError("legs want a start: a corner, or [x, y, z]", key="start")
    return np.array([float(v) for v in table.start])


def _valley(names: tuple[str, str], frame: Frame) -> tuple[Points, Points]:
    for i, name in enumerate(names):
        if name not in frame.planes:
            text = (
                "bounds no roof plane; wanted an eave or rake of a mass"
                if name in frame.edges
                else unknown("edge", name, frame.planes)
            )
            raise InputError(text, key=f"between item {i + 1}")
    try:
        return meeting(frame.planes[names[0]], frame.planes[names[1]])
    except InputError as error:
        raise error.at(key="between") from None


def _facing(given: str | float | None, own: Points) -> Points:
    if given is None:
        return own
    if isinstance(given, str):
        return np.array(_WAYS[given], float)
    return np.array([np.cos(given), np.sin(given), 0.0])
