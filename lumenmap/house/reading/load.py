"""house.toml to House."""

from __future__ import annotations

import hashlib
import os
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import get_args

from lumenmap.core.errors import InputError, Mistakes, each, together
from lumenmap.core.regular import read_regular
from lumenmap.core.toml.reading import LARGEST, load_toml
from lumenmap.core.toml.tables import build
from lumenmap.house.choices import Unit
from lumenmap.house.masses.mass import Mass
from lumenmap.house.model import Buying, Group, House, Location
from lumenmap.house.rails import ThermalRange
from lumenmap.house.reading.edges import EdgeContext, add_edges
from lumenmap.house.reading.feeds import (
    read_buses,
    read_feeds,
    read_supplies,
    read_taps,
    read_trunks,
)
from lumenmap.house.reading.file import GroupTable, HouseFile
from lumenmap.house.reading.mass_table import MassTable
from lumenmap.house.reading.placement import PlacedMass, place_mass, read_mass
from lumenmap.house.reading.plausibility import assumptions, fuse_notes, plausibility_notes
from lumenmap.house.reading.rail import read_bench, read_drill, read_rail
from lumenmap.house.reading.wiring import (
    read_lines,
    read_pixel,
    read_string,
    read_usage,
    read_wire_defaults,
    require_reach,
    require_unique,
)
from lumenmap.routes.route import Route, no_edge_of_route
from lumenmap.routes.table import read_routes


def load_house(file: Path | str) -> House:
    """Read a house file.

    Raises
    ------
    InputError
        Any mistake in the file, with its key and what is expected.
    """
    where = Path(os.path.normpath(file))
    data = load_toml(where, "house")
    top = data.get("house")
    unit = top.get("unit") if isinstance(top, dict) else None
    context = {"unit": unit if unit in get_args(Unit) else "m"}

    def make(table: HouseFile) -> House:
        try:
            digest = hashlib.sha256(read_regular(where, LARGEST)).hexdigest()
            return replace(_build(table, where), sha256=digest)
        except InputError as error:
            raise _all_mistakes(table, where, error) from None

    return build(HouseFile, data, where, context, make)


def _all_mistakes(table: HouseFile, file: Path, first: InputError) -> InputError:
    """Read each part of a file that can't be read, as far as what it stands on is right."""
    found = Mistakes()
    attempt = partial(found.gathered, file)
    context = kind = lines = trunks = None
    with attempt():
        context, *_ = _shape(table)
    with attempt():
        kind = read_pixel(table.pixel)
    with attempt():
        read_supplies(table)
    if context and kind:
        with attempt():
            lines = read_lines(table.line, kind, context.edges, context.masses, table.house.unit)
    if context:
        with attempt():
            each(lambda item: _group(*item, context), table.group.items())
        with attempt():
            _routes(table, context)
    if lines is not None:
        with attempt():
            read_feeds(table, lines)
        with attempt():
            read_buses(table.bus, lines, table.house.unit)
        with attempt():
            trunks = read_trunks(table, lines)
        if trunks is not None:
            with attempt():
                read_taps(table.tap, trunks, table.house.unit)
    return together(found.found) if found.found else first.at(file=file)


def _shape(table: HouseFile) -> tuple[EdgeContext, tuple[PlacedMass, ...], ThermalRange | None]:
    """Return the house's masses with the edges of the file, its blocks, and what heat does."""
    unit = table.house.unit
    require_unique("mass", (t.name for t in table.mass))
    given = {t.name: _readable(t) for t in table.mass}
    blocks = each(lambda t: _placed(t, given, unit), table.mass)
    rail, thermal = read_rail(table.rail, unit)
    context = EdgeContext(
        unit=unit,
        front_faces=table.house.front_faces,
        rail=rail,
        masses=tuple(b.mass for b in blocks),
        planes={n: p for b in blocks for n, p in b.planes.items()},
        corners={n: p for b in blocks for n, p in b.corners.items()},
        edges={n: e for b in blocks for n, e in b.edges.items()},
    )
    add_edges(table.edge, context)
    return context, blocks, thermal


def _build(table: HouseFile, file: Path) -> House:
    unit = table.house.unit
    context, blocks, thermal = _shape(table)
    rail = context.rail
    kind = read_pixel(table.pixel)
    lines = read_lines(table.line, kind, context.edges, context.masses, unit)
    string = read_string(table)
    require_reach(string, rail, context.edges.values(), unit)
    trunks = read_trunks(table, lines)
    place = table.house.place
    return House(
        name=table.house.name,
        file=file,
        unit=unit,
        location=Location(place.latitude, place.longitude, place.timezone) if place else None,
        masses=context.masses,
        corners=context.corners,
        edges=context.edges,
        faces=tuple(f for b in blocks for f in b.faces),
        rail=rail,
        kind=kind,
        lines=lines,
        supplies=read_supplies(table),
        feeds=read_feeds(table, lines),
        groups={name: _group(name, t, context) for name, t in table.group.items()},
        routes=_routes(table, context),
        buses=read_buses(table.bus, lines, unit),
        trunks=trunks,
        taps=read_taps(table.tap, trunks, unit),
        string=string,
        wire_defaults=read_wire_defaults(table),
        usage=read_usage(table.energy),
        thermal=thermal,
        bench=read_bench(table.drill, unit),
        drill=read_drill(table.drill),
        buying=Buying(table.buying.currency, table.buying.spare, dict(table.buying.prices)),
        notes=(
            *context.notes,
            *plausibility_notes(context.masses, context.edges, rail, unit),
            *fuse_notes(table),
        ),
        assumptions=tuple(assumptions(table, rail, string)),
    )


def _readable(table: MassTable) -> Mass | None:
    """Return a mass as it is written; None if it has mistakes, which `_placed` reports."""
    try:
        return read_mass(table)
    except InputError:
        return None


def _placed(table: MassTable, others: dict[str, Mass | None], unit: Unit) -> PlacedMass:
    try:
        return place_mass(table, others, unit)
    except InputError as error:
        inner = f'mass "{table.name}"' + (f", {error.key}" if error.key else "")
        raise InputError(error.message, key=inner) from None


def _group(name: str, table: list[str] | GroupTable, context: EdgeContext) -> Group:
    """Read a group: a list of names, or a table with a region."""
    taken = {*context.edges, *(m.name for m in context.masses)}
    if name in taken:
        raise InputError("is already the name of an edge or mass", key=f"group.{name}")
    if isinstance(table, list):
        return Group(tuple(table))
    if not table.of and table.low is None and table.high is None:
        raise InputError("is empty; expected of, or low and high", key=f"group.{name}")
    low, high = (
        (float(p[0]), float(p[1]), float(p[2])) if p is not None else None
        for p in (table.low, table.high)
    )
    return Group(tuple(table.of), low, high)


def _routes(table: HouseFile, context: EdgeContext) -> dict[str, Route]:
    """Read the routes, whose edges this house must have."""
    routes = read_routes(table.route)
    for name, route in routes.items():
        for i, one in enumerate(route.edges):
            if one.edge not in context.edges:
                key = f'route "{name}", edges item {i + 1}'
                raise InputError(no_edge_of_route(one, context.edges), key=key)
    return routes
