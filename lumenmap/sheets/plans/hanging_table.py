"""The table below a hanging drawing: each edge's length, slope, height, bare ends and rails."""

from __future__ import annotations

import itertools
import math
import re

import numpy as np

from lumenmap.core.lengths import show_about, show_length
from lumenmap.drawing.canvas import GREY, INK, Drawing, Point, TextStyle
from lumenmap.house.choices import Unit
from lumenmap.house.model import Edge
from lumenmap.sheets.rails.rails import PlacedRail
from lumenmap.sheets.rails.reach import Reach
from lumenmap.site import Site

COLUMNS = ("edge", "length", "slope", "above ground", "bare at start", "bare at end", "rails")
#: Parts of the width; the type (mm), how narrow a letter it is squeezed to, and the least type that
#: stays on one line.
PARTS = (0.19, 0.12, 0.07, 0.18, 0.13, 0.13, 0.18)
TYPE, LETTER, SMALLEST = 3.8, 0.53, 2.8

Row = tuple[str, ...]


def edge_rows(site: Site, rails: list[PlacedRail], edges: list[str]) -> list[Row]:
    """Return a row of `COLUMNS` for each edge."""
    unit, rows = site.house.unit, list[Row]()
    for name in edges:
        layout = site.line_layouts[0].edge_layouts[name]
        mine = [r for r in rails if r.edge == name]
        stop = mine[-1].start + mine[-1].pattern.length
        reach = Reach(layout, site.house)
        heights = reach.heights
        bent = len(heights) > 2
        low, high = (heights.min(), heights.max()) if bent else (heights[0], heights[-1])
        up = show_about(float(low), unit)
        if abs(high - low) > 0.005:
            up += f" to {show_about(float(high), unit)}"
        rows.append(
            (
                name,
                show_length(reach.high - reach.low, unit),
                "bends" if bent else slope(layout.edge, unit) or "level",
                up,
                reach.place(mine[0].start, mine[0], unit),
                reach.bare_end(stop, unit),
                _names(mine),
            )
        )
    return rows


def _names(rails: list[PlacedRail]) -> str:
    """Return the marks of rails; of three and more of a kind next to each other, the outer two."""
    named = []
    for _, kind in itertools.groupby(rails, key=lambda rail: rail.kind):
        marks = [f"{rail.kind}{rail.number}" for rail in kind]
        named.append(f"{marks[0]} to {marks[-1]}" if len(marks) > 2 else ", ".join(marks))
    return ", ".join(named)


def slope(edge: Edge, unit: Unit) -> str:
    """Return the slope of a straight edge: rise in 12, or degrees; empty if it is level."""
    step = edge.points[-1] - edge.points[0]
    run, rise = float(np.hypot(step[0], step[1])), abs(float(step[2]))
    if rise < 0.005:
        return ""
    if unit in ("ft", "in") and run > rise / 100:
        return f"{12 * rise / run:.3g}/12"
    return f"{math.degrees(math.atan2(rise, run)):.0f}°"


def draw_table(page: Drawing, rows: list[Row], at: Point, size: tuple[float, float]) -> None:
    """Draw the rows under their headings from ``at`` down; ``size``: width, and y of the foot."""
    (left, top), wide = at, size[0]
    step = (size[1] - top) / (1 + len(rows))
    for k, row in enumerate([COLUMNS, *rows]):
        x, y = left, top + (k + 0.7) * step
        for text, part in zip(row, PARTS, strict=True):
            lines, type_ = _set(text, part * wide - 2, step)
            for n, words in enumerate(lines):
                up = 0.0 if len(lines) == 1 else (0.3 - 0.45 * n) * step
                page.text((x, y - up), words, TextStyle(type_, bold=not k))
            x += part * wide
        line = top + (k + 1) * step
        page.line(
            [(left, line), (left + wide, line)], INK if not k else GREY, 0.4 if not k else 0.1
        )


def _set(text: str, room: float, step: float) -> tuple[list[str], float]:
    """Return a cell's lines and their type (mm): two lines if one would be too small.

    No figure is broken: what begins the second line is a word of three letters, or a name.
    """
    whole = min(TYPE, 0.62 * step, room / (LETTER * max(1, len(text))))
    spaces = [m.start() for m in re.finditer(r"(?<=,) | (?=[a-z]{3})", text)]
    if whole >= SMALLEST or not spaces:
        return [text], whole
    middle = min(spaces, key=lambda i: abs(i - len(text) / 2))
    lines = [text[:middle], text[middle + 1 :]]
    halved = min(TYPE, 0.42 * step, room / (LETTER * max(map(len, lines))))
    return (lines, halved) if halved > whole else ([text], whole)
