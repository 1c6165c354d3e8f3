"""The wiring sheet: what joins what, where data enters, and the wire between."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from lumenmap.core.units import show_length
from lumenmap.drawing.document import Heading, Part, Table, Text
from lumenmap.pixels.line_layout import LineLayout, RunLayout
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.sheets.rails.rails import Placed

COLUMNS = ("line", "step", "from", "to", "wire")


def wiring_sheet(
    pixels: PixelMap, line_layouts: list[LineLayout], placed: list[Placed]
) -> Iterator[Part]:
    """Yield the joints of every line."""
    yield Heading("Wiring")
    yield Text(
        "Work along each line in the order below. Data has a direction: every pixel has a data-in "
        "and a data-out side, and the arrows of the picture show which way it runs. A jumper "
        "carries all conductors of the string: plus, data and minus."
    )
    for walk, span in zip(line_layouts, pixels.lines, strict=True):
        yield Heading(f'Line "{walk.line.name}"', new_page=False)
        rows = tuple(
            (walk.line.name, str(i), *row) for i, row in enumerate(_line(walk, span, placed), 1)
        )
        yield Table("wiring", COLUMNS, rows, numbers=(1,), wide=(0.12, 0.07, 0.32, 0.34, 0.15))


def _line(walk: LineLayout, span: LineSpan, placed: list[Placed]) -> Iterator[tuple[str, str, str]]:
    unit = walk.house.unit
    first = walk.legs[0]
    begin = f"controller, output for line {span.name} (from universe {span.universe})"
    yield (
        begin,
        _enters(walk, first, placed),
        "data lead" if not first.jumper else _jumper(first, unit),
    )
    before: RunLayout | None = None
    for i, leg in enumerate(walk.legs):
        yield from _hidden(walk, i)
        if before is not None:
            last = before.first + before.count
            wire = _jumper(leg, unit) if leg.jumper else "the string's own"
            if leg.gap > 0.005:
                wire += f"; bridges {show_length(leg.gap, unit)}"
            yield (
                f"pixel {last}, end of the run on {before.run.edge}",
                _enters(walk, leg, placed),
                wire,
            )
        yield from _rail_joints(leg, placed)
        before = leg
    yield from _hidden(walk, len(walk.legs))
    yield f"pixel {span.count}", "end of the line: seal the open end against water", ""


def _hidden(walk: LineLayout, legs: int) -> Iterator[tuple[str, str, str]]:
    """Yield the spares that come after so many runs."""
    for before, first, count in walk.hidden:
        if before == legs:
            which = f"pixel {first + 1}" if count == 1 else f"pixels {first + 1} to {first + count}"
            yield f"{which}: spare", "hide it with the wire; it keeps its number and stays dark", ""


def _enters(walk: LineLayout, leg: RunLayout, placed: list[Placed]) -> str:
    edge = leg.run.edge
    laid = walk.laid[edge]
    at_start, at_end = leg.enter < 1e-6, abs(leg.enter - float(laid.length)) < 1e-6
    unit = walk.house.unit
    where = (
        "at its start"
        if at_start
        else "at its end"
        if at_end
        else f"{show_length(leg.enter, unit)} along it"
    )
    rail = next((r for r in placed if r.edge == edge and leg.first + 1 in _pixels(r)), None)
    on = f", rail {rail.kind}{rail.number}" if rail else ""
    way = "towards its end" if not leg.run.reversed else "towards its start"
    return f"{edge}: data enters {where}{on}, pixel {leg.first + 1}, and runs {way}"


def _pixels(rail: Placed) -> range:
    low, high = sorted((rail.first, rail.last))
    return range(low, high + 1)


def _rail_joints(leg: RunLayout, placed: list[Placed]) -> Iterator[tuple[str, str, str]]:
    own = set(range(leg.first + 1, leg.first + leg.count + 1))
    mine = [r for r in placed if r.edge == leg.run.edge and own & set(_pixels(r))]
    if leg.run.reversed:
        mine.reverse()
    for a, b in pairwise(mine):
        one, two = max(own & set(_pixels(a))), min(own & set(_pixels(b)))
        yield (
            f"rail {a.kind}{a.number}, pixel {one}",
            f"rail {b.kind}{b.number}, pixel {two}",
            "the string's own",
        )


def _jumper(leg: RunLayout, unit: str) -> str:
    return f"jumper {show_length(leg.jumper, unit)}"
