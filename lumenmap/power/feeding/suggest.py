"""Suggestions: the fewest feeds and thinnest wires that keep a line's voltage high enough.

Strategy: lines on one supply don't affect each other, so each is planned alone, at full white: with
one feed, then two, and so on. The first number that is enough with stock wire is the fewest; one
more is planned too, to compare. Where many feeds are needed, so is a bus alongside.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from lumenmap.core.units import show_length
from lumenmap.house.choices import Unit
from lumenmap.parts.fuses import BLADES
from lumenmap.pixels.pixelmap import LineSpan
from lumenmap.power.feeding.bus_option import FEW_FEEDS, bus_option
from lumenmap.power.feeding.option import Option
from lumenmap.power.feeding.planner import Planner
from lumenmap.power.report.findings import PARALLEL
from lumenmap.site import Site

#: Nobody would build more feeds than this on one line: our choice.
MAX_FEEDS = 16
#: A position nearer to the start than this (m) is the start.
_START = 1e-3


@dataclass(frozen=True, slots=True)
class LineSuggestion:
    """The options for a line: fewest feeds first, a bus last."""

    line: str
    supply: str
    options: tuple[Option, ...]

    @property
    def chosen(self) -> Option | None:
        """The suggested option: the first that is enough, or None."""
        return next((o for o in self.options if not o.why_not), None)


@dataclass(frozen=True, slots=True)
class Suggestions:
    """Suggestions for all lines of a site."""

    site: Site
    rows: tuple[LineSuggestion, ...]

    def report(self) -> list[dict[str, Any]]:
        """Return the suggestions as plain data: m, A, V, g."""
        return [asdict(row) | {"chosen": row.chosen and asdict(row.chosen)} for row in self.rows]

    def lines(self) -> list[str]:
        """Return the suggestions as they are printed."""
        lines = ["Suggested feeds, for full white everywhere:"]
        for row in self.rows:
            lines.append(f'  line "{row.line}" from supply "{row.supply}":')
            lines += [f"    {text}" for text in self._options(row)]
            if row.chosen:
                lines += [f"    {text}" for text in _toml(row, self.site.house.unit)]
        lines.append(
            "  Lead-ins are estimated from the existing feeds, along the rail or by the shortest "
            "route; measure yours. A short circuit in a thin wire without a fuse can start a fire."
        )
        if any(o.bus and not o.why_not for row in self.rows for o in row.options):
            lines.append(f"  {PARALLEL}")
        return lines

    def _options(self, row: LineSuggestion) -> Iterator[str]:
        for o in row.options:
            count = f"{o.count} feed{'s' if o.count > 1 else ''}"
            if o.bus:
                every = show_length(o.bus.every, self.site.house.unit)
                count += f" and a bus alongside, {o.bus.wire} tied every {every}"
            if o.why_not:
                yield f"{count}: {o.why_not}"
                continue
            what = ", ".join(
                f"{f.wire} at {_where(f.at, self.site.house.unit)} with a {f.fuse:g} A fuse "
                f"({BLADES[f.fuse]})"
                for f in o.feeds
            )
            cost = "" if o.cost is None else f", {self.site.house.buying.money(o.cost)}"
            mark = "suggested: " if o is row.chosen else "also works: "
            yield f"{mark}{count}, {what}; lowest {o.lowest:.2f} V, {o.copper:.0f} g copper{cost}"


def _where(at: float, unit: Unit) -> str:
    return "the start" if at < _START else show_length(at, unit)


def _toml(row: LineSuggestion, unit: Unit) -> Iterator[str]:
    assert row.chosen
    yield "for the house file, in place of this line's feeds, buses and cuts:"
    for f in row.chosen.feeds:
        at = "start" if f.at < _START else show_length(f.at, unit)
        yield "  [[feed]]"
        yield f'  supply = "{row.supply}"'
        yield f'  to = "{row.line}"'
        yield f'  at = "{at}"'
        yield f'  wire = "{f.wire}"'
        yield f'  length = "{show_length(f.length, unit)}"'
        yield f"  fuse = {f.fuse:g}"
    if bus := row.chosen.bus:
        yield "  [[bus]]"
        yield f'  along = "{row.line}"'
        yield f'  wire = "{bus.wire}"'
        yield f'  tie_every = "{show_length(bus.every, unit)}"'


def suggest(site: Site) -> Suggestions:
    """Suggest feeds for every line of a house, from one supply each."""
    return Suggestions(site, tuple(_suggest(site, span) for span in site.pixels.lines))


def _suggest(site: Site, span: LineSpan) -> LineSuggestion:
    """Try one feed, two, and so on, to one more than are enough; a bus too if that is many."""
    planner = Planner(site, span)
    options: list[Option] = []
    for count in range(1, min(MAX_FEEDS, span.count) + 1):
        enough = any(not o.why_not for o in options)
        options.append(planner.option(count))
        if enough:
            break
    fewest = next((o.count for o in options if not o.why_not), len(options) + 1)
    if fewest > FEW_FEEDS:
        options.append(bus_option(planner, fewest))
    return LineSuggestion(span.name, planner.supply.name, tuple(options))
