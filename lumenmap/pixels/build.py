"""House to PixelMap: every pixel on every wire, in the order the data reaches them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.house.model import Edge, House, Jumper, Line, Run, Spares
from lumenmap.pixels.holes import hole_count, hole_places
from lumenmap.pixels.pixelmap import LineSpan, PixelMap

#: More pixels than any house carries; asked before a single one is made.
MOST_PIXELS = 200_000

F = NDArray[np.float64]


@dataclass(slots=True)
class _Part:
    """The pixels of one step of a path."""

    xyz: F
    facing: F
    along_line: F
    along_edge: F
    edge_length: F
    edge: int


def map_pixels(house: House) -> PixelMap:
    """Lay the pixels of a house.

    Raises
    ------
    InputError
        More pixels than any house has, or a line without any.
    """
    _count(house)
    names = tuple(house.edges)
    number = {name: i for i, name in enumerate(names)}
    parts: list[_Part] = []
    spans: list[LineSpan] = []
    first = 0
    for line in house.lines:
        found, length = _line(line, house, number)
        count = sum(len(p.xyz) for p in found)
        spans.append(LineSpan(line.name, first, count, line.universe, line.order, length))
        parts += found
        first += count
    pixels = [len(p.xyz) for p in parts]
    edge = np.repeat(np.array([p.edge for p in parts], np.int32), pixels)
    return PixelMap(
        xyz=np.concatenate([p.xyz for p in parts]),
        facing=np.concatenate([p.facing for p in parts]),
        along_line=np.concatenate([p.along_line for p in parts]),
        along_edge=np.concatenate([p.along_edge for p in parts]),
        edge_length=np.concatenate([p.edge_length for p in parts]),
        edge=edge,
        line=np.repeat(np.arange(len(spans), dtype=np.int32), [s.count for s in spans]),
        lit=edge >= 0,
        edge_names=names,
        lines=tuple(spans),
        kind=house.kind,
        groups={},
    )


def length_of(edge: Edge) -> Fraction:
    """Return the length that pixels follow: the owner's tape, else the model; exact m."""
    return edge.measured if edge.measured is not None else Fraction(edge.length)


def _count(house: House) -> None:
    """Count before making anything, so that a slip in the spacing can't fill the memory."""
    rail = house.rail
    total = 0
    for line in house.lines:
        count = 0
        for step in line.path:
            if isinstance(step, Run):
                edge = house.edges[step.edge]
                count += hole_count(length_of(edge), rail.hole_spacing, rail.first_hole)
            elif isinstance(step, Spares):
                count += step.count
        if not count:
            raise InputError("has no pixel: its edges are shorter than the first hole's place",
                             file=house.file, key=f'line "{line.name}"')  # fmt: skip
        total += count
    if total > MOST_PIXELS:
        raise InputError(
            f"makes {total:,} pixels; {MOST_PIXELS:,} is the most: is the spacing in the right "
            "unit?",
            file=house.file, key="rail.hole_spacing",
        )  # fmt: skip


def _line(line: Line, house: House, number: dict[str, int]) -> tuple[list[_Part], float]:
    """Lay one line: its parts and the length of its wire (m)."""
    parts: list[_Part] = []
    done = Fraction(0)
    for step in line.path:
        if isinstance(step, Jumper):
            done += step.length
        elif isinstance(step, Spares):
            parts.append(_spares(step.count, parts, float(done)))
        else:
            edge = house.edges[step.edge]
            parts.append(_run(step, edge, house, number[edge.name], float(done)))
            done += length_of(edge)
    return parts, float(done)


def _run(step: Run, edge: Edge, house: House, number: int, done: float) -> _Part:
    rail, length = house.rail, length_of(edge)
    count = hole_count(length, rail.hole_spacing, rail.first_hole)
    along = hole_places(count, rail.hole_spacing, rail.first_hole)
    whole = float(length)
    xyz = on_polyline(edge.points, along * (edge.length / whole))
    wire = along
    if step.reversed:
        along, xyz = along[::-1], xyz[::-1]
        wire = whole - along
    return _Part(
        xyz=xyz,
        facing=np.broadcast_to(edge.facing, xyz.shape),
        along_line=done + wire,
        along_edge=along,
        edge_length=np.full(count, whole),
        edge=number,
    )


def on_polyline(points: F, along: F) -> F:
    """Return (n, 3) places at distances ``along`` (n,) m from the start of a (K, 3) polyline."""
    ends = np.concatenate([[0.0], np.linalg.norm(np.diff(points, axis=0), axis=1).cumsum()])
    return np.stack([np.interp(along, ends, points[:, i]) for i in range(3)], axis=1)


def _spares(count: int, before: list[_Part], done: float) -> _Part:
    """Put spares where the wire is: at the pixel before them, or at the origin at the very start."""
    last = before[-1] if before and len(before[-1].xyz) else None
    spot = last.xyz[-1] if last else np.zeros(3)
    facing = last.facing[-1] if last else np.array([0.0, -1.0, 0.0])
    flat = np.zeros(count)
    return _Part(
        np.tile(spot, (count, 1)), np.tile(facing, (count, 1)), np.full(count, done), flat,
        np.ones(count), -1,
    )  # fmt: skip
