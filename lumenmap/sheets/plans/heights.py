"""Heights above ground, written left of a view of the house."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from lumenmap.core.lengths import show_about
from lumenmap.drawing.canvas import GREY, INK, TextStyle
from lumenmap.sheets.plans.pen import Pen

#: Two heights nearer to each other than this on paper are one (mm).
SAME = 1.0


def draw_heights(pen: Pen, heights: Iterable[float], x: float, type_: float) -> None:
    """Write heights (m), each with a line that ends near ``x`` (mm); ``type_`` is the type's size.

    Other labels are kept out of them.
    """
    page = pen.page
    levels = _levels(pen, heights, type_)
    for z, y, at in levels:
        page.line([(x, at - 0.36 * type_), (x + 3, y), (x + 6, y)], INK, 0.4)
        text = show_about(z, pen.site.house.unit)
        page.text((x - 1.5, at), text, TextStyle(type_, "end"))
    pen.labels.take((0, 0, x + 7, page.height))
    highest = min(at for _, _, at in levels)
    page.text((x - 1.5, highest - 2 * type_), "above ground", TextStyle(3.2, "end", GREY))


def _levels(pen: Pen, heights: Iterable[float], type_: float) -> list[tuple[float, float, float]]:
    """Return each height (m), its y, and that of its text, which no other covers (mm)."""
    found: list[tuple[float, float, float]] = []
    for z in sorted({round(float(v), 6) for v in heights}):
        y = pen.put(np.array([pen.panel.low[0], z]))[0][1]
        if found and found[-1][1] - y < SAME:
            continue
        at = y + 0.36 * type_
        found.append((z, y, min(at, found[-1][2] - 1.3 * type_) if found else at))
    return found
