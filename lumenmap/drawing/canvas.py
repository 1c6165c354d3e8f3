"""`Drawing`: lines, areas, dots and words on a page, in millimetres from its top left corner.

Strategy: what a page shows is worked out once, here; `svg`, `png` and `pdf` only put it on paper.
So the picture on the screen and the sheet on the ladder can't differ.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

Point = tuple[float, float]

INK = "#1d2530"
GREY = "#7b8794"
PALE = "#d7dde3"


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points; ``dash`` mm of ink and of gap alike, 0 for none."""

    points: tuple[Point, ...]
    colour: str = INK
    width: float = 0.25
    dash: float = 0.0


@dataclass(frozen=True, slots=True)
class Area:
    """A filled polygon, with an outline if ``width`` is over 0."""

    points: tuple[Point, ...]
    fill: str
    colour: str = INK
    width: float = 0.0


@dataclass(frozen=True, slots=True)
class Dot:
    """A filled circle, or a ring where ``fill`` is empty."""

    centre: Point
    radius: float
    fill: str = INK
    colour: str = INK
    width: float = 0.0


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text.

    ``at``: its baseline's start, middle or end, as ``anchor`` says; ``size`` mm; ``turn`` degrees
    counter-clockwise; ``halo``: on a white ground.
    """

    at: Point
    text: str
    size: float = 3.0
    anchor: str = "start"
    colour: str = INK
    bold: bool = False
    turn: float = 0.0
    halo: bool = False


Mark = Stroke | Area | Dot | Words


@dataclass(slots=True)
class Drawing:
    """A page of ``width`` by ``height`` mm and the marks on it, the last on top."""

    width: float
    height: float
    marks: list[Mark] = field(default_factory=list)

    def line(
        self,
        points: Sequence[Point],
        colour: str = INK,
        width: float = 0.25,
        dash: float = 0.0,
    ) -> None:
        """Draw a line through points."""
        self.marks.append(Stroke(tuple(points), colour, width, dash))

    def area(
        self, points: Sequence[Point], fill: str, colour: str = INK, width: float = 0.0
    ) -> None:
        """Fill a polygon."""
        self.marks.append(Area(tuple(points), fill, colour, width))

    def dot(
        self, centre: Point, radius: float, fill: str = INK, colour: str = INK, width: float = 0.0
    ) -> None:
        """Draw a circle."""
        self.marks.append(Dot(centre, radius, fill, colour, width))

    def words(
        self,
        at: Point,
        text: str,
        size: float = 3.0,
        anchor: str = "start",
        colour: str = INK,
        *,
        bold: bool = False,
        turn: float = 0.0,
        halo: bool = False,
    ) -> None:
        """Write a line of text."""
        self.marks.append(Words(at, text, size, anchor, colour, bold, turn, halo))

    def arrow(self, tip: Point, way: Point, size: float, colour: str = INK) -> None:
        """Draw an arrow head at ``tip``, pointing ``way`` (a unit vector)."""
        (x, y), (u, v) = tip, way
        back, side = (x - size * u, y - size * v), 0.42 * size
        self.area(
            [
                tip,
                (back[0] - side * v, back[1] + side * u),
                (back[0] + side * v, back[1] - side * u),
            ],
            colour,
        )
