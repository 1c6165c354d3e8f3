"""The power sheet: where each feed connects, its fuse, the buses, and warnings."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from lumenmap.core.units import show_length
from lumenmap.drawing.document import Heading, Part, Table, Text
from lumenmap.house.choices import Unit
from lumenmap.house.supplies import Bus, Feed
from lumenmap.sheets.fuse_check import PowerCheck
from lumenmap.site import Site


def power_sheet(site: Site, power: PowerCheck) -> Iterator[Part]:
    """Yield the feeds with their fuses, the buses, and the warnings."""
    house = site.house
    yield Heading("Power", new_page=False)
    if house.feeds:
        yield _feeds(site, power)
        yield _verdict(power)
    else:
        yield Text(
            "The house file has no [[feed]]: give one for each wire from a supply to a line."
        )
    if house.buses:
        yield Table(
            "buses",
            ("bus", "along", "from", "to", "wire", "tied every"),
            tuple(
                (
                    b.name,
                    b.line,
                    b.start,
                    b.stop,
                    b.wire,
                    _tied(b, house.unit),
                )
                for b in house.buses
            ),
        )
    if power.warnings:
        yield Heading("Warnings, with every pixel at full white", new_page=False)
        rows = tuple((str(i), text) for i, text in enumerate(power.warnings, 1))
        yield Table(
            "power-warnings", ("no.", "warning"), rows, right_aligned=(0,), widths=(0.07, 0.93)
        )


def _tied(bus: Bus, unit: Unit) -> str:
    if bus.ties:
        return f"at {', '.join(bus.ties)}"
    return show_length(bus.every, unit) if bus.every else "its ends only"


def _feeds(site: Site, power: PowerCheck) -> Table:
    rows = []
    for number, feed in enumerate(site.house.feeds, 1):
        check = power.fuse_checks.get(feed.name)
        given = f"{feed.fuse:g} A" if feed.fuse is not None else "none"
        rows.append(
            (
                f"F{number}",
                _from(feed),
                _to(site, feed),
                f"{feed.wire}, {show_length(feed.length, site.house.unit)}",
                f"{check.part}, {check.wire}: {check.ampacity:g} A" if check else "not checked",
                check.fuse if check else f"{given}: not checked",
            )
        )
    columns = ("feed", "from supply", "to", "wire, one way", "thinnest behind it", "fuse")
    return Table("feeds", columns, tuple(rows), widths=(0.07, 0.13, 0.29, 0.15, 0.2, 0.16))


def _from(feed: Feed) -> str:
    """Return the supply, and the feed's name if it has one, since warnings use it."""
    named = feed.name != f"{feed.supply} to {feed.line} {feed.at}"
    return f'{feed.supply} ("{feed.name}")' if named else feed.supply


def _to(site: Site, feed: Feed) -> str:
    pixels = site.pixels
    span = next(s for s in pixels.lines if s.name == feed.line)
    position = site.places[span.name].at(feed.at, f'feed "{feed.name}"')
    along = pixels.along_line[span.slice]
    on_edges = np.flatnonzero(pixels.edge[span.slice] >= 0)
    near = int(on_edges[np.abs(along[on_edges] - position).argmin()])
    where = pixels.edge_names[pixels.edge[span.first + near]]
    return f"{feed.line}, {feed.at}: at pixel {near + 1} on {where}"


def _verdict(power: PowerCheck) -> Text:
    """Return whether the fuses protect the wire behind them, as far as they could be checked."""
    text = (
        "Put each fuse at the supply end of its wire. The colour is only a hint: go by the number "
        "on the fuse. "
    )
    table = f'table "{power.table}"; local code and the data sheet of the wire override it'
    if not power.fuse_checks:
        return Text(f"{text}Whether they protect the wire was NOT checked.", True, "Fuses:")
    if bad := power.unprotected:
        names = ", ".join(f"F{f.number}" for f in bad)
        return Text(f"{text}NOT protected: the wire behind {names}, by {table}.", True, "Fuses:")
    return Text(
        f"{text}None is larger than the ampacity of the thinnest wire behind it, by {table}."
    )
