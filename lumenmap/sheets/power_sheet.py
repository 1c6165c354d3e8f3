"""The power sheet: where each feed joins, its fuse, the buses, and what is amiss."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from lumenmap.core.units import show_length
from lumenmap.drawing.document import Heading, Part, Table, Text
from lumenmap.house.supplies import Feed
from lumenmap.power.circuit.positions import position_on_line
from lumenmap.sheets.fuse_check import Power
from lumenmap.site import Site


def power_sheet(site: Site, power: Power) -> Iterator[Part]:
    """Yield the feeds with their fuses, the buses, and the warnings."""
    house = site.house
    yield Heading("Power", new_page=False)
    if house.feeds:
        yield _feeds(site, power)
        yield _judgement(power)
    else:
        yield Text("No [[feed]] is given: say where the supply's wires join the lines.")
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
                    show_length(b.every, house.unit) if b.every else "its ends only",
                )
                for b in house.buses
            ),
        )
    if power.warnings:
        yield Heading("What is amiss with every pixel at full white", new_page=False)
        rows = tuple((str(i), text) for i, text in enumerate(power.warnings, 1))
        yield Table("power-warnings", ("no.", "warning"), rows, numbers=(0,), wide=(0.07, 0.93))


def _feeds(site: Site, power: Power) -> Table:
    rows = []
    for number, feed in enumerate(site.house.feeds, 1):
        judged = power.fusings.get(feed.name)
        given = f"{feed.fuse:g} A" if feed.fuse is not None else "none"
        rows.append(
            (
                f"F{number}",
                _from(feed),
                _joins(site, feed),
                f"{feed.wire}, {show_length(feed.length, site.house.unit)}",
                f"{judged.what}, {judged.wire}: {judged.may:g} A" if judged else "not judged",
                judged.fuse if judged else f"{given}: not judged",
            )
        )
    columns = ("feed", "from supply", "joins", "wire, one way", "least behind it", "fuse")
    return Table("feeds", columns, tuple(rows), wide=(0.07, 0.13, 0.29, 0.15, 0.2, 0.16))


def _from(feed: Feed) -> str:
    """Name the supply, and the feed if its owner named it, since warnings call it so."""
    named = feed.name != f"{feed.supply} to {feed.line} {feed.at}"
    return f'{feed.supply} ("{feed.name}")' if named else feed.supply


def _joins(site: Site, feed: Feed) -> str:
    pixels = site.pixels
    span = next(s for s in pixels.lines if s.name == feed.line)
    place = position_on_line(feed.at, span, site.house.unit, f'feed "{feed.name}"')
    along = pixels.along_line[span.slice]
    hung = np.flatnonzero(pixels.edge[span.slice] >= 0)  # spares hang nowhere
    near = int(hung[np.abs(along[hung] - place).argmin()])
    where = pixels.edge_names[pixels.edge[span.first + near]]
    return f"{feed.line}, {feed.at}: by pixel {near + 1} on {where}"


def _judgement(power: Power) -> Text:
    """Say whether the fuses protect the wire behind them; nothing of those that aren't judged."""
    text = (
        "Each fuse stands at the supply's end of its wire. The colour is a hint; the number "
        "stamped on the fuse counts. "
    )
    table = f'the "{power.table}" table of amps; local code and the wire\'s own data sheet win'
    if not power.fusings:
        return Text(f"{text}Whether they protect the wire is NOT judged here.", True, "Fuses:")
    if bad := power.unprotected:
        names = ", ".join(f"F{f.number}" for f in bad)
        return Text(f"{text}NOT protected: what is behind {names}, by {table}.", True, "Fuses:")
    return Text(f"{text}None is bigger than the thinnest wire behind it may carry by {table}.")
