"""A flag on a hanging drawing: its mark is that of a pair of wires, or of a cut of the plus."""

from __future__ import annotations

from collections.abc import Iterable

from lumenmap.drawing.canvas import INK, Drawing, Point, TextStyle
from lumenmap.drawing.labels import Labels, width_of
from lumenmap.sheets.wires.symbols import PLUS

#: Type (mm) of names of rails and wires. 4 mm is four times what an eye with 20/20 reads at 0.7 m
#: [K: 5 minutes of arc are 1 mm].
LARGE = 5.0
_HIGH, _CUT, _JOINED = 3.2, "#ffffff", "#ffe08a"


def draw_flag(
    page: Drawing, labels: Labels, at: Point, mark: str, places: Iterable[Point], *, cut: bool
) -> None:
    """Draw a flag with a line to a point, at the first of some places that is free."""
    half, colour = width_of(mark, LARGE) / 2 + 1.5, PLUS if cut else INK
    x, y = point = labels.lead(at, (half + 0.4, _HIGH + 0.4), places)
    page.line([at, point], colour, 0.4)
    page.dot(at, 1.2, colour)
    (left, right), (top, low) = (x - half, x + half), (y - _HIGH, y + _HIGH)
    box = [(left, top), (right, top), (right, low), (left, low)]
    page.area(box, _CUT if cut else _JOINED, colour, 0.4)
    page.text((x, y + 1.8), mark, TextStyle(LARGE, "middle", colour, bold=True))
