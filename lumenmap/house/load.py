"""house.toml to House."""

from __future__ import annotations

import os
from pathlib import Path

from lumenmap.core.errors import InputError
from lumenmap.core.tables import check, load_toml, located
from lumenmap.house.edges import Frame, add_edges
from lumenmap.house.file import GroupTable, HouseFile, MassTable
from lumenmap.house.model import Buying, Drill, Group, House, Place
from lumenmap.house.placement import Placed, placed
from lumenmap.house.plausibility import notes
from lumenmap.house.rail import rail
from lumenmap.house.wiring import buses, feeds, lines, once, pixel, supplies, wiring


def load_house(file: Path | str) -> House:
    """Read a house file.

    Raises
    ------
    InputError
        Anything wrong in it, with its key and what would be right.
    """
    where = Path(os.path.normpath(file))
    data = load_toml(where, "house")
    top = data.get("house")
    unit = top.get("unit") if isinstance(top, dict) else None
    context = {"unit": unit if unit in ("m", "cm", "mm", "ft", "in") else "m"}
    table = check(HouseFile, data, where, context)
    with located(where, data):
        try:
            return _build(table, where)
        except InputError as error:
            raise error.at(file=where) from None


def _build(table: HouseFile, file: Path) -> House:
    unit = table.house.unit
    once("mass", (t.name for t in table.mass))
    blocks = [_placed(t, unit) for t in table.mass]
    common, warmth = rail(table.rail, unit)
    frame = Frame(
        unit=unit,
        front_faces=table.house.front_faces,
        rail=common,
        masses=tuple(b.mass for b in blocks),
        planes={n: p for b in blocks for n, p in b.planes.items()},
        corners={n: p for b in blocks for n, p in b.corners.items()},
        edges={n: e for b in blocks for n, e in b.edges.items()},
    )
    add_edges(table.edge, frame)
    kind = pixel(table.pixel)
    made = lines(table.line, kind, frame.edges, unit)
    wire, habits = wiring(table)
    spot = table.house.place
    return House(
        name=table.house.name,
        file=file,
        unit=unit,
        place=Place(spot.latitude, spot.longitude, spot.timezone) if spot else None,
        masses=frame.masses,
        corners=frame.corners,
        edges=frame.edges,
        faces=tuple(f for b in blocks for f in b.faces),
        rail=common,
        kind=kind,
        lines=made,
        supplies=supplies(table, kind),
        feeds=feeds(table, made),
        groups={name: _group(name, t, frame) for name, t in table.group.items()},
        buses=buses(table.bus, made, unit),
        wiring=wire,
        habits=habits,
        warmth=warmth,
        drill=_drill(table),
        buying=Buying(table.buying.currency, table.buying.spare, dict(table.buying.prices)),
        notes=(*frame.notes, *notes(frame.masses, frame.edges, common, unit)),
    )


def _placed(table: MassTable, unit: str) -> Placed:
    try:
        return placed(table, unit)
    except InputError as error:
        inner = f'mass "{table.name}"' + (f", {error.key}" if error.key else "")
        raise InputError(error.message, key=inner) from None


def _group(name: str, table: list[str] | GroupTable, frame: Frame) -> Group:
    """Read a group: a list of names, or a table with a region."""
    taken = {*frame.edges, *(m.name for m in frame.masses)}
    if name in taken:
        raise InputError("is the name of an edge or mass already", key=f"group.{name}")
    if isinstance(table, list):
        return Group(tuple(table))
    if not table.of and table.low is None and table.high is None:
        raise InputError("holds nothing; wanted of, or low and high", key=f"group.{name}")
    low, high = (
        (float(p[0]), float(p[1]), float(p[2])) if p is not None else None
        for p in (table.low, table.high)
    )
    return Group(tuple(table.of), low, high)


def _drill(table: HouseFile) -> Drill | None:
    d = table.drill
    if d is None:
        return None
    return Drill(d.units, d.travel, d.bit, d.depth, d.retract, d.feed, d.spindle)
