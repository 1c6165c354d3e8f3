"""Boxes to tick on paper: figures as large as the room allows, in columns."""

from __future__ import annotations

from lumenmap.drawing.canvas import GREY, INK, Drawing, TextStyle
from lumenmap.drawing.document import Ticks
from lumenmap.drawing.labels import width_of

#: Height of a row (mm): figures no larger than they need be. Large enough for arm's length: 4 mm
#: high is four times what an eye with 20/20 reads at 0.7 m [K: 5 minutes of arc are 1 mm].
ROW, LARGE = 12.0, 4.0
#: Columns at most; figure, then name and note, in parts of a row's height; room between (mm).
COLUMNS, FIGURE, SMALL, APART = 5, 0.55, 0.34, 4.0


def tick_grid(ticks: Ticks, width: float, height: float) -> Drawing:
    """Return the boxes in a room of ``width`` by ``height`` mm, counted down the columns.

    The drawing is as high as its rows.
    """
    columns, row = _fit(ticks, width, height)
    rows = -(-len(ticks.items) // columns)
    page = Drawing(width, rows * row)
    wide, names = width / columns, _names(ticks, row)
    for i, item in enumerate(ticks.items):
        x, y = i // rows * wide, i % rows * row
        foot, box = y + 0.72 * row, 0.5 * row
        if i % rows:
            page.line([(x, y), (x + wide - APART, y)], GREY, 0.1)
        corners = [(x, y + 0.25 * row), (x + box, y + 0.25 * row)]
        corners += [(x + box, y + 0.25 * row + box), (x, y + 0.25 * row + box)]
        page.line([*corners, corners[0]], INK, 0.35)
        page.text((x + box + names, foot), item.name, TextStyle(SMALL * row, "end"))
        at = x + box + names + 0.2 * row
        page.text((at, foot), item.figure, TextStyle(FIGURE * row, bold=True))
        if item.note:
            at += _wide(item.figure, FIGURE * row) + 0.25 * row
            page.text((at, foot), item.note, TextStyle(SMALL * row, colour="#c4161c"))
    return page


def figure_size(ticks: Ticks, width: float, height: float) -> float:
    """Return the size (mm) of the figures in a room."""
    return FIGURE * _fit(ticks, width, height)[1]


def _fit(ticks: Ticks, width: float, height: float) -> tuple[int, float]:
    """Return the number of columns and the height of rows (mm) with the largest figures."""
    most = max(_needs(ticks, i) for i in range(len(ticks.items)))
    best = (1, 0.0)
    for columns in range(1, COLUMNS + 1):
        rows = -(-len(ticks.items) // columns)
        row = min(ROW, height / rows, (width / columns - APART) / most)
        if row > best[1] * 1.02:
            best = (columns, row)
    return best


def _needs(ticks: Ticks, i: int) -> float:
    """Return the width of an item, in parts of a row's height."""
    item = ticks.items[i]
    note = 0.25 + _wide(item.note, SMALL) if item.note else 0.0
    return 0.5 + _names(ticks, 1.0) + 0.2 + _wide(item.figure, FIGURE) + note


def _names(ticks: Ticks, row: float) -> float:
    """Return the width that the names take."""
    return max(width_of(t.name, SMALL * row) for t in ticks.items) + 0.25 * row


def _wide(text: str, size: float) -> float:
    """Return the width of bold figures, which are wider than letters on the mean."""
    return 1.06 * width_of(text, size)
