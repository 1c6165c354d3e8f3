"""The wiring diagram: supplies with their fuses, every pair, data, strings and cuts, on one page.

Strategy: supplies and fuses stand at the left, and each line is a bar of strings at the right with
its pairs below it. A house with many pairs gets a larger page of the same shape, which prints
smaller: everything is always on one page.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from lumenmap.core.lengths import show_length, show_written
from lumenmap.core.wording import some
from lumenmap.drawing.canvas import GREY, INK, Drawing, TextStyle
from lumenmap.drawing.labels import width_of
from lumenmap.sheets.wires import symbols
from lumenmap.sheets.wires.bar import Bar, landmarks, lay, pixels_before, room_for
from lumenmap.sheets.wires.blocks import Block, Row, blocks
from lumenmap.sheets.wires.data import SERIES_OHMS, DataLead
from lumenmap.sheets.wires.diagram_frame import FUSE, Fuse, boxes, legend, wrapped
from lumenmap.sheets.wires.leaves import STEP, draw_leaves
from lumenmap.sheets.wires.numbers import at_connectors, in_strings, over_cuts
from lumenmap.sheets.wires.spots import tell
from lumenmap.sheets.wires.symbols import DATA, PLUS
from lumenmap.site import Site

#: Left and right edge of the controller's outputs, and the left end of the bars (mm).
OUTPUT, BAR = (63.0, 88.0), 108.0
#: Heights (mm): title, bar with what stands over it, a row, a row with taps or ties; bar alone.
TITLE, HEAD, ROW, TALL, HIGH = 11.0, 33.0, 13.0, 31.0, 8.0
#: Where the bar's top is below its block's top.
TOP = 16.0
LEGEND = 34.0
#: Size of what is written over a pair, and of what is written below it (mm).
TYPE, NOTE = 3.4, 2.7


def diagram(site: Site, room: tuple[float, float]) -> Drawing:
    """Return the diagram, to be printed within ``room`` (width, height in mm).

    Raises
    ------
    InputError
        A place that isn't on its line.
    """
    found = blocks(site)
    high = TITLE + sum(map(_height, found)) + LEGEND
    wide = BAR + 4 + max(room_for(landmarks(site, block)) for block in found)
    smaller = max(1.0, high / room[1], wide / room[0])
    pen = _Pen(Drawing(room[0] * smaller, high), site)
    pen.title()
    y = TITLE
    for block in found:
        pen.block(block, y)
        y += _height(block)
    boxes(pen.page, site.house.supplies, pen.fuses)
    legend(pen.page, y + 5, pen.right, site.house.unit, narrow=pen.narrow)
    return pen.page


def _height(block: Block) -> float:
    return HEAD + sum(map(_row_height, block.rows)) + 4


def _row_height(row: Row) -> float:
    return ROW if not row.leaves else TALL + STEP * row.crowded


@dataclass(slots=True)
class _Pen:
    page: Drawing
    site: Site
    #: Supply and height of each fuse at the left, in order down the page.
    fuses: list[Fuse] = field(default_factory=list)
    #: Whether some strings are numbered at their connectors, as they are too narrow.
    narrow: bool = False

    @property
    def right(self) -> float:
        return self.page.width - 2

    def title(self) -> None:
        house = self.site.house
        self.page.text((0, 6), f"{house.name}: wiring", TextStyle(6, bold=True))
        text = f"{house.kind.name}, {house.kind.volts:g} V; one controller, data from left to right"
        self.page.text((self.right, 6), text, TextStyle(3, "end", GREY))

    def block(self, block: Block, top: float) -> None:
        head = top + TOP
        bar = lay(self.site, block, BAR, self.right)
        y = top + HEAD
        rows = []
        for row in block.rows:
            y += _row_height(row)
            rows.append((row, y - 6))
        for row, level in rows:
            self._pair(block, row, level, bar, head + HIGH)
        for row, level in rows:
            draw_leaves(self.page, row, level, bar, (BAR, self.right))
        self._bar(block, head, bar)
        self._data(block.data, head)
        for lead, _ in block.joints:
            symbols.joint(self.page, (bar.marks[lead.mark], head + HIGH))
        for row, level in rows:
            self._words(row, level, bar)

    def _pair(self, block: Block, row: Row, level: float, bar: Bar, foot: float) -> None:
        """Draw a pair from its fuse to the line, or along it with what leaves it."""
        lead, page = row.lead, self.page
        if lead.kind != "bus":
            self.fuses.append((lead.source, level, lead.fuse))
        if lead.joins:
            x = bar.marks[lead.mark]
            symbols.pair(page, [(FUSE[1], level), (x, level), (x, foot)])
            return
        assert lead.stop is not None
        ends = [bar.at(pixels_before(self.site, block.line, p)) for p in (lead.place, lead.stop)]
        own = [bar.marks[x.mark] for x in row.leaves]
        begin = min(own) if lead.kind == "bus" else FUSE[1]
        symbols.pair(page, [(begin, level), (max(ends + own), level)], heavy=True)
        for x in own:
            symbols.joint(page, (x, level))
            symbols.pair(page, [(x, level), (x, foot)])

    def _words(self, row: Row, level: float, bar: Bar) -> None:
        """Write a pair's mark, gauge and length over it, and where it goes below it."""
        lead, unit, site = row.lead, self.site.house.unit, self.site
        text = lead.make(unit) if lead.length else lead.wire
        where = tell(site, lead.line, lead.place)
        size, note = TYPE, NOTE
        if lead.stop is not None:
            text, where = f"{lead.wire}, {show_length(lead.length, unit)}", self._leaves(row)
        begin = width_of(lead.mark, 1) + 0.74
        if lead.kind == "bus":  # it begins under the line: beside it there is no wire to write on
            room = min(bar.marks[x.mark] for x in row.leaves) - OUTPUT[0] - 3
            size = min(size, room / (begin + width_of(text, 1)))
            note = min(note, room / width_of(where, 1))
        self.page.text((OUTPUT[0], level - 2), lead.mark, TextStyle(size, bold=True, halo=True))
        at = (OUTPUT[0] + begin * size, level - 2)
        self.page.text(at, text, TextStyle(size, halo=True))
        symbols.note(self.page, (OUTPUT[0], level + 4), where, note)

    def _leaves(self, row: Row) -> str:
        """Say where a trunk or bus lies, of what wire its taps are, or how many ties there are."""
        lead, unit, count = row.lead, self.site.house.unit, len(row.leaves)
        if lead.kind == "bus":
            return f"alongside, with {some(count, 'tie')} to {lead.line}"
        makes = {x.make(unit) for x in row.leaves}
        made = f", each {makes.pop()}" if len(makes) == 1 else "; see Wires to the line"
        along = show_length(lead.length - lead.lead_in, unit)
        there = f"{show_length(lead.lead_in, unit)} to the line, then {along} alongside"
        return f"{there}; {some(count, 'tap')}{made}"

    def _bar(self, block: Block, top: float, bar: Bar) -> None:
        """Draw a line's strings, connectors, data and cuts."""
        page, site, foot = self.page, self.site, top + HIGH
        own, string = site.places[block.line], site.house.string
        count = own.span.count
        symbols.rectangle(page, (BAR, top), (self.right - BAR, HIGH), symbols.STRING)
        made = some(count, "pixel")
        if string.pixels:
            many = -(-count // string.pixels)
            made += f", {many} string{'s' if many > 1 else ''} of {string.pixels}"
        page.text((OUTPUT[0], top - 11.8), f"{block.line}: ", TextStyle(4, bold=True))
        page.text((OUTPUT[0] + width_of(f"{block.line}:  ", 4.2), top - 11.8), made, TextStyle(3.2))
        self._edges(block, top - 7.8)
        page.line([(BAR, foot - 0.9), (self.right, foot - 0.9)], PLUS, 0.7)
        page.line([(BAR, top + 0.9), (self.right, top + 0.9)], INK, 0.7)
        size = string.pixels or count
        # A cut next to a connector has as many pixels before it, and isn't where a string ends.
        ends = pairwise([BAR, *sorted(bar.connectors), self.right])
        strings = [
            (x, end, first + 1, min(first + size, count))
            for (x, end), first in zip(ends, range(0, count, size), strict=True)
        ]
        cuts = [(bar.marks[cut.mark], cut) for cut in block.cuts]
        numbered = in_strings(page, strings, top + HIGH / 2, [x for x, _ in cuts])
        for x in bar.connectors:
            symbols.connector(page, x, top, foot)
        plugs = sorted(bar.connectors)
        self.narrow |= at_connectors(page, plugs, 0 if numbered else size, top - 2)
        named = over_cuts(page, cuts, top - 4.6, (OUTPUT[1], self.right))
        for (x, _), name in zip(cuts, named, strict=True):
            symbols.cut(page, x, foot - 0.9)
            page.line([(name, top - 4.1), (x, top - 4.1), (x, foot + 1)], PLUS, 0.3, 0.8)

    def _edges(self, block: Block, y: float) -> None:
        """Write which pixels are on which edge, as far as there is room."""
        runs = [r for r in self.site.line_layouts[block.index].runs if r.count]
        texts = [f"{r.item.edge} {r.first + 1}-{r.first + r.count}" for r in runs]
        most = int((self.right - OUTPUT[0]) / (0.53 * 2.6))
        text = ", ".join(texts)
        while len(text) > most and len(texts) > 1:
            texts.pop()
            text = f"{', '.join(texts)}, and {len(runs) - len(texts)} more: see Wiring"
        symbols.note(self.page, (OUTPUT[0], y), text, 2.6)

    def _data(self, lead: DataLead, bar: float) -> None:
        """Draw the controller's output and its lead to the first pixel."""
        page, (left, right), middle = self.page, OUTPUT, bar + HIGH / 2
        symbols.rectangle(page, (left, bar - 1), (right - left, HIGH + 2), "#ffffff", DATA)
        for text, down, bold in (("controller", -0.8, False), (f"output {lead.output}", 3.2, True)):
            style = TextStyle(3.2, "middle", DATA, bold=bold)
            page.text(((left + right) / 2, middle + down), text, style)
        page.line([(right, middle), (BAR - 1, middle)], DATA, 0.6)
        page.arrow((BAR, middle), (1.0, 0.0), 3.2, DATA)
        words = f"{lead.mark}: data lead {show_written(lead.length, self.site.house.unit)}"
        words += " (assumed)" if lead.assumed else ""
        words += f", {SERIES_OHMS} ohm"
        words += ", repeating pixel" if lead.repeats else ""
        words += ", TOO LONG for one wire" if lead.balanced else ""
        # As wide as the way to the line, so that it lies across no wire.
        for k, line in enumerate(wrapped(words, int((BAR - left) / (0.53 * 2.6)))):
            place = (left, bar + HIGH + 4.8 + 3.3 * k)
            page.text(place, line, TextStyle(2.6, colour=DATA, halo=True))
