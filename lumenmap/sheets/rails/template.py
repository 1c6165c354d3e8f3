"""The drilling template: each kind of rail at true size, in strips that overlap.

A hole's position on the rail is the strip's start plus its distance on the paper. Bars on each page
show whether the printer keeps the scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lumenmap.core.wording import some
from lumenmap.drawing.canvas import GREY, INK, Drawing, TextStyle
from lumenmap.house.choices import Unit
from lumenmap.parts.cautions import BENCH
from lumenmap.sheets.rails.cutting import decimal
from lumenmap.sheets.rails.families import Family, families
from lumenmap.sheets.rails.rails import PlacedRail

#: Margin that printers can't print on (mm).
MARGIN = 14.0
#: Length that neighbouring strips share, to align them (mm).
OVERLAP = 20.0
#: Height of a strip with its text, and of the rail drawn in it (mm).
PITCH, RAIL = 35.0, 14.0
#: Height for the title, and for the bars (mm).
HEAD, FOOT = 22.0, 20.0
#: Bars to check the scale (mm): 4 in and 100 mm.
BAR_IN, BAR_MM = 101.6, 100.0
RED = "#c4161c"


@dataclass(frozen=True, slots=True)
class Strip:
    """A stretch of a family's longest rail on a page.

    It is strip ``number`` of ``count``; ``start``: its left end, mm from the datum; ``left`` and
    ``centre``: its position on the page (mm).
    """

    family: Family
    page: int
    number: int
    count: int
    start: float
    length: float
    left: float
    centre: float


def strips(placed: list[PlacedRail], paper: tuple[float, float]) -> list[Strip]:
    """Return the strips of every kind of rail, arranged on landscape pages."""
    wide, high = paper[1], paper[0]
    room = wide - 2 * MARGIN
    a_page = max(1, int((high - HEAD - FOOT - 2 * MARGIN + 6) // PITCH))
    found: list[Strip] = []
    page = 0
    for family in families(placed):
        length = float(family.leader.length) * 1000
        count = max(1, math.ceil((length - OVERLAP) / (room - OVERLAP)))
        for i in range(count):
            if i and i % a_page == 0:
                page += 1
            start = i * (room - OVERLAP)
            centre = MARGIN + HEAD + PITCH * (i % a_page) + 16.0
            found.append(
                Strip(family, page, i + 1, count, start, min(room, length - start), MARGIN, centre)
            )
        page += 1
    return found


def template(
    placed: list[PlacedRail],
    paper: tuple[float, float],
    unit: Unit,
    bit: Fraction | None,
    house: str,
) -> Iterator[Drawing]:
    """Yield the pages of the template; ``bit``: the diameter of the holes (m), if known."""
    all_strips = strips(placed, paper)
    pages = all_strips[-1].page + 1 if all_strips else 0
    for number in range(pages):
        mine = [s for s in all_strips if s.page == number]
        page = Drawing(paper[1], paper[0])
        _head(page, mine[0].family, unit, f"{house} · page {number + 1} of {pages}")
        for strip in mine:
            _strip(page, strip, unit, bit)
        _bars(page)
        yield page


def _head(page: Drawing, family: Family, unit: Unit, note: str) -> None:
    kinds = [(k, family.pattern(k)) for k in family.kinds]
    lengths = "; ".join(
        f"{k} {decimal(p.length, unit)}, {some(p.count, 'hole')}" for k, p in kinds[:5]
    )
    more = f" and {len(kinds) - 5} more, as marked" if len(kinds) > 5 else ""
    page.text((MARGIN, MARGIN + 5), f"Template: {family.name}", TextStyle(6, bold=True))
    page.text((page.width - MARGIN, MARGIN + 5), note, TextStyle(3, "end", GREY))
    page.text(
        (MARGIN, MARGIN + 11),
        "Print at 100 % (actual size, not fit to page) and measure the bars below before use. "
        "Place each dashed line over the same line of the strip before it.",
        TextStyle(3),
    )
    page.text((MARGIN, MARGIN + 16), f"Cut to: {lengths}{more}.", TextStyle(3))


def _strip(page: Drawing, s: Strip, unit: Unit, bit: Fraction | None) -> None:
    p = s.family.leader
    top, foot = s.centre - RAIL / 2, s.centre + RAIL / 2
    left, right = s.left, s.left + s.length
    page.line([(left, top), (right, top)], GREY, 0.2)
    page.line([(left, foot), (right, foot)], GREY, 0.2)
    whole = float(p.length) * 1000
    page.line([(left, s.centre), (right, s.centre)], "#aab4be", 0.12)
    whole = float(p.length) * 1000
    page.text((left, top - 9), f"strip {s.number} of {s.count}", TextStyle(2.6, colour=GREY))
    ends = [(float(s.family.pattern(k).length) * 1000, f"end of {k}") for k in s.family.kinds]
    for at, name in ((0.0, "datum end"), *ends):
        if s.start - 1e-9 <= at <= s.start + s.length + 1e-9:
            x = left + at - s.start
            page.line([(x, top - 3), (x, foot + 3)], RED, 0.35)
            page.text(
                (x, top - 4), name, TextStyle(2.6, "start" if at == 0 else "end", RED, bold=True)
            )
    for at in (s.start, s.start + OVERLAP, s.start + s.length, s.start + s.length - OVERLAP):
        inner = 0.5 < at < whole - 0.5 and not (s.start == 0 and at == OVERLAP)
        last = s.start + s.length > whole - 0.5 and at == s.start + s.length - OVERLAP
        if inner and not last:
            _overlap(page, left + at - s.start, top, foot, at, unit)
    for k, place in enumerate(p.holes()):
        at = float(place) * 1000
        if s.start - 1e-6 <= at <= s.start + s.length + 1e-6:
            _hole(page, left + at - s.start, s.centre, k + 1, decimal(place, unit), bit)


def _overlap(page: Drawing, x: float, top: float, foot: float, at: float, unit: Unit) -> None:
    page.line([(x, top - 2.5), (x, foot + 2.5)], "#0072b2", 0.2, 1.2)
    page.text(
        (x, foot + 5.5),
        f"align {decimal(Fraction(at) / 1000, unit)}",
        TextStyle(2.1, "middle", "#0072b2"),
    )


def _hole(page: Drawing, x: float, y: float, number: int, place: str, bit: Fraction | None) -> None:
    """Draw a hole as a cross, so that the punch finds its centre."""
    reach = 4.5
    page.line([(x - reach, y), (x + reach, y)], INK, 0.12)
    page.line([(x, y - reach), (x, y + reach)], INK, 0.12)
    if bit is not None:
        page.dot((x, y), float(bit) * 500, "", INK, 0.15)
    page.text((x, y - 8.4), str(number), TextStyle(3, "middle", bold=True))
    page.text((x, y + 10.2), place, TextStyle(2, "middle", GREY))


def _bars(page: Drawing) -> None:
    page.text((MARGIN, page.height - MARGIN + 4), BENCH, TextStyle(3))
    y = page.height - MARGIN - 6
    for left, size, name in (
        (MARGIN, BAR_IN, "exactly 4 in"),
        (page.width - MARGIN - BAR_MM, BAR_MM, "exactly 100 mm"),
    ):
        page.line([(left, y), (left + size, y)], INK, 0.3)
        for x in (left, left + size):
            page.line([(x, y - 3), (x, y + 3)], INK, 0.3)
        page.text(
            (left + size / 2, y - 2), f"{name}, or the scale is wrong", TextStyle(3, "middle")
        )
