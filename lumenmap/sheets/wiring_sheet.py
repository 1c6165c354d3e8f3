"""The wiring sheet: what is connected to what, where data enters, and the wire between."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from lumenmap.core.lengths import show_at_least, show_written
from lumenmap.drawing.canvas import Drawing
from lumenmap.drawing.document import Heading, Part, Picture, Table, Text
from lumenmap.house.choices import Unit
from lumenmap.parts.cautions import BENCH, ladder
from lumenmap.pixels.line_layout import LineLayout, RunLayout
from lumenmap.pixels.pixelmap import LineSpan
from lumenmap.sheets.rails.rails import PlacedRail
from lumenmap.sheets.rails.reach import Reach
from lumenmap.sheets.wires.data import DataLead, data_leads
from lumenmap.sheets.wires.joints import data_sheet, joints
from lumenmap.sheets.wires.leads import cuts
from lumenmap.sheets.wires.tags import tags
from lumenmap.site import Site

#: Height of a page's title (mm).
TITLE = 12.0
#: A diagram not higher than this part of its width fills at most half a page of either paper.
SMALL = 0.65
COLUMNS = ("line", "step", "from", "to", "wire between")


def wiring_sheet(site: Site, placed: list[PlacedRail], diagram: Drawing) -> Iterator[Part]:
    """Yield the diagram, the connections of every line, and the data leads."""
    yield Heading("Wiring diagram")
    yield Picture(diagram, title="wiring diagram")
    # A small house's diagram leaves half of its page: the list goes on below it.
    yield Heading("Wiring", new_page=diagram.height > SMALL * diagram.width)
    yield Text(ladder(site.house.unit), caution=True)
    yield Text(
        "Work along each line in the order below. Data has a direction: every pixel has a data-in "
        "and a data-out side, and the arrows in the picture show the direction. A jumper has all "
        "conductors of the string: plus, data and minus."
    )
    if cuts(site):
        yield Text(
            "Where the plus is cut, two supplies meet: the plus of one must never touch that of "
            "the other. Insulate both ends. Minus and data stay whole.",
            caution=True,
            lead="Cuts:",
        )
    every = zip(site.line_layouts, site.pixels.lines, data_leads(site), strict=True)
    for layout, span, data in every:
        yield Heading(f'Line "{layout.line.name}"', new_page=False)
        rows = tuple(
            (layout.line.name, str(i), *row)
            for i, row in enumerate(_line(layout, span, placed, data), 1)
        )
        yield Table(
            "wiring",
            COLUMNS,
            rows,
            right_aligned=(1,),
            widths=(0.12, 0.07, 0.32, 0.34, 0.15),
            csv_only=(0,),  # it stands above the table
            ticks=("done",),
        )
        yield from joints(site, span.name)
    yield from data_sheet(site)


def label_sheet(site: Site, room: tuple[float, float]) -> Iterator[Part]:
    """Yield the labels, to cut out."""
    for number, page in enumerate(tags(site, (room[0], room[1] - 2 * TITLE)), 1):
        yield Heading("Labels")
        yield Text("Cut out, cover with clear tape, and fix one to each end. " + BENCH)
        yield Picture(page, title=f"labels, page {number}")


def _line(
    layout: LineLayout, span: LineSpan, placed: list[PlacedRail], data: DataLead
) -> Iterator[tuple[str, str, str]]:
    unit = layout.house.unit
    first = layout.runs[0]
    begin = f"controller, output for line {span.name} (from universe {span.universe})"
    yield (
        begin,
        _enters(layout, first, placed),
        _data(data, unit) + (f", then {_jumper(first, unit)}" if first.jumper else ""),
    )
    before: RunLayout | None = None
    for i, run in enumerate(layout.runs):
        yield from _hidden(layout, i)
        if before is not None:
            last = before.first + before.count
            wire = _jumper(run, unit) if run.jumper else "the string's own"
            if run.gap > 0.005:
                wire += f"; spans {show_at_least(run.gap, unit)}"
            yield (
                f"pixel {last}, end of the run on {before.item.edge}",
                _enters(layout, run, placed),
                wire,
            )
        yield from _rail_joints(run, placed)
        before = run
    yield from _hidden(layout, len(layout.runs))
    yield f"pixel {span.count}", "end of the line: seal the open end against water", ""


def _data(lead: DataLead, unit: Unit) -> str:
    return f"data lead {show_written(lead.length, unit)}" + (", assumed" if lead.assumed else "")


def _hidden(layout: LineLayout, runs: int) -> Iterator[tuple[str, str, str]]:
    """Yield the hidden pixels that come after so many runs."""
    for hidden in layout.hidden:
        if hidden.after_runs == runs:
            first, last = hidden.first + 1, hidden.first + hidden.count
            which = f"pixel {first}" if first == last else f"pixels {first} to {last}"
            yield f"{which}: hidden", "hide with the wire; keeps its number and stays dark", ""


def _enters(layout: LineLayout, run: RunLayout, placed: list[PlacedRail]) -> str:
    edge = run.item.edge
    edge_layout = layout.edge_layouts[edge]
    at_start, at_end = run.enter < 1e-6, abs(run.enter - float(edge_layout.length)) < 1e-6
    rail = next((r for r in placed if r.edge == edge and run.first + 1 in _pixels(r)), None)
    reach, unit = Reach(edge_layout, layout.house), layout.house.unit
    where = (
        "at its start"
        if at_start
        else "at its end"
        if at_end
        else reach.place(run.enter, rail, unit, along=" along it")
    )
    on = f", rail {rail.kind}{rail.number}" if rail else ""
    direction = "towards its end" if not run.item.reversed else "towards its start"
    return f"{edge}: data enters {where}{on}, pixel {run.first + 1}, and runs {direction}"


def _pixels(rail: PlacedRail) -> range:
    low, high = sorted((rail.first, rail.last))
    return range(low, high + 1)


def _rail_joints(run: RunLayout, placed: list[PlacedRail]) -> Iterator[tuple[str, str, str]]:
    own = set(range(run.first + 1, run.first + run.count + 1))
    mine = [r for r in placed if r.edge == run.item.edge and own & set(_pixels(r))]
    if run.item.reversed:
        mine.reverse()
    for a, b in pairwise(mine):
        one, two = max(own & set(_pixels(a))), min(own & set(_pixels(b)))
        yield (
            f"rail {a.kind}{a.number}, pixel {one}",
            f"rail {b.kind}{b.number}, pixel {two}",
            "the string's own",
        )


def _jumper(run: RunLayout, unit: Unit) -> str:
    return f"jumper {show_written(run.jumper, unit)}"
