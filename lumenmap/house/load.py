"""house.toml to House."""

from __future__ import annotations

import os
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.tables import check, load_toml
from lumenmap.house import place
from lumenmap.house.file import BusTable, EdgeTable, FeedTable, HouseFile, PixelTable
from lumenmap.house.model import (
    Bus,
    Edge,
    Face,
    Feed,
    Habits,
    House,
    Line,
    Mass,
    Place,
    Points,
    Rail,
    Supply,
    Wiring,
)
from lumenmap.house.path import path as line_path
from lumenmap.parts.kinds import PixelKind, pixel_kind


def load_house(file: Path | str) -> House:
    """Read a house file.

    Raises
    ------
    InputError
        Anything wrong in it, with its key and what would be right.
    """
    where = Path(os.path.normpath(file))
    data = load_toml(where)
    top = data.get("house")
    unit = top.get("unit") if isinstance(top, dict) else None
    context = {"unit": unit if unit in ("m", "cm", "mm", "ft", "in") else "m"}
    table = check(HouseFile, data, where, context)
    try:
        return _build(table, where)
    except InputError as error:
        raise error.at(file=where) from None


def _build(table: HouseFile, file: Path) -> House:
    masses, corners, edges, faces = _masses(table)
    for edge in table.edge:
        if edge.name in edges:
            raise InputError("there is another edge of this name", key=f'edge "{edge.name}"')
        edges[edge.name] = _edge(edge)
    kind = _kind(table.pixel)
    used: dict[str, str] = {}
    lines = tuple(
        Line(
            t.name, line_path(t, edges, used), t.universe,
            _order(t.order, kind, f'line "{t.name}", order'), tuple(t.cuts),
        )
        for t in table.line
    )  # fmt: skip
    _once("line", [t.name for t in table.line])
    _once("supply", [t.name for t in table.supply])
    supplies = tuple(Supply(t.name, t.volts, t.amps) for t in table.supply)
    spacing = table.rail.hole_spacing
    first = table.rail.first_hole if table.rail.first_hole is not None else spacing / 2
    spot = table.house.place
    return House(
        name=table.house.name,
        file=file,
        unit=table.house.unit,
        place=Place(spot.latitude, spot.longitude, spot.timezone) if spot else None,
        masses=tuple(masses),
        corners=corners,
        edges=edges,
        faces=tuple(faces),
        rail=Rail(table.rail.length, spacing, first),
        kind=kind,
        lines=lines,
        supplies=supplies,
        feeds=tuple(_feed(i, t, supplies, lines) for i, t in enumerate(table.feed)),
        groups={name: tuple(members) for name, members in table.group.items()},
        buses=tuple(_bus(i, t, lines) for i, t in enumerate(table.bus)),
        wiring=Wiring(
            table.wiring.string, table.wiring.ampacity, table.wiring.celsius,
            table.wiring.contact_milliohms / 1000,
        ),
        habits=Habits(
            table.energy.hours, table.energy.evenings, table.energy.price, table.energy.efficiency
        ),
    )  # fmt: skip


def _masses(
    table: HouseFile,
) -> tuple[list[Mass], dict[str, Points], dict[str, Edge], list[Face]]:
    masses: list[Mass] = []
    corners: dict[str, Points] = {}
    edges: dict[str, Edge] = {}
    faces: list[Face] = []
    _once("mass", [t.name for t in table.mass])
    for t in table.mass:
        try:
            block, its_corners, its_edges, its_faces = place.parts(t)
        except InputError as error:
            inner = f'mass "{t.name}"' + (f", {error.key}" if error.key else "")
            raise InputError(error.message, key=inner) from None
        masses.append(block)
        corners |= its_corners
        edges |= its_edges
        faces += its_faces
    return masses, corners, edges, faces


def _once(what: str, names: list[str]) -> None:
    for name in names:
        if names.count(name) > 1:
            raise InputError(f"there are two of this name; each {what} needs its own",
                             key=f'{what} "{name}"')  # fmt: skip


def _edge(table: EdgeTable) -> Edge:
    points = np.array([[float(v) for v in p] for p in table.points])
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    if not (steps > 1e-6).all():
        raise InputError("two points in a row are the same", key=f'edge "{table.name}", points')
    if table.facing is not None:
        facing = np.array([np.cos(table.facing), np.sin(table.facing), 0.0])
    else:
        facing = np.array([0.0, -1.0, 0.0])  # towards the street
    return Edge(table.name, table.kind, points, facing, None, table.measured)


def _kind(table: PixelTable) -> PixelKind:
    figures: dict[str, Any] = {
        "volts": table.volts, "min_volts": table.min_volts, "idle_ma": table.idle_ma,
        "bit_us": table.bit_us, "reset_us": table.reset_us,
        "channel_ma": tuple(table.channel_ma) if table.channel_ma else None,
    }  # fmt: skip
    try:
        row = pixel_kind(table.kind)
    except InputError as error:
        raise error.at(key="pixel.kind") from None
    try:
        return pixel_kind(table.kind, order=_order(table.order, row, "pixel.order"), **figures)
    except InputError as error:
        raise error.at(key="pixel") from None


def _order(order: str | None, kind: PixelKind, key: str) -> str:
    if order is None:
        return kind.order
    if sorted(order) != sorted(kind.order):
        raise InputError(
            f'is "{order[:20]}"; wanted the letters {"".join(sorted(kind.order, key="RGBW".index))}'
            " once each, in the order the wire carries them", key=key,
        )  # fmt: skip
    return order


def _feed(i: int, t: FeedTable, supplies: tuple[Supply, ...], lines: tuple[Line, ...]) -> Feed:
    key = f'feed "{t.name}"' if t.name else f"feed[{i}]"
    if t.supply not in (names := [s.name for s in supplies]):
        raise InputError(
            unknown("supply", t.supply, names, plural="Supplies"), key=f"{key}, supply"
        )
    if t.to not in (names := [x.name for x in lines]):
        raise InputError(unknown("line", t.to, names), key=f"{key}, to")
    name = t.name or f"{t.supply} to {t.to} {t.at}"
    return Feed(name, t.supply, t.to, t.at, t.wire, float(Fraction(t.length)), t.fuse)


def _bus(i: int, t: BusTable, lines: tuple[Line, ...]) -> Bus:
    name = t.name or f"bus {i + 1}"
    if t.along not in (names := [x.name for x in lines]):
        raise InputError(unknown("line", t.along, names), key=f'bus "{name}", along')
    every = float(t.tie_every) if t.tie_every is not None else None
    return Bus(name, t.along, t.wire, t.start, t.stop, every)
