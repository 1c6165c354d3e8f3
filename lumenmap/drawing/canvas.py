"""`Drawing`: lines, areas, dots and text on a page, in millimetres from its top left corner.

Strategy: what a page shows is decided once, here; `svg`, `png` and `pdf` only write it. So the
picture on the screen and the sheet on the ladder can't differ.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]

INK = "#1d2530"
GREY = "#7b8794"
PALE = "#d7dde3"


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points; ``dash`` is the length of dashes and of gaps (mm), 0 for none."""

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
    """A filled circle, or a ring if ``fill`` is empty."""

    centre: Point
    radius: float
    fill: str = INK
    colour: str = INK
    width: float = 0.0


@dataclass(frozen=True, slots=True)
class TextStyle:
    """How text looks.

    ``size`` in mm; ``anchor``: the point of the baseline that is placed; ``rotation`` in degrees,
    counter-clockwise; ``halo``: a white outline, to be read over lines.
    """

    size: float = 3.0
    anchor: Anchor = "start"
    colour: str = INK
    bold: bool = False
    rotation: float = 0.0
    halo: bool = False


@dataclass(frozen=True, slots=True)
class TextLine:
    """A line of text with its anchor ``at`` a point."""

    at: Point
    text: str
    style: TextStyle


Mark = Stroke | Area | Dot | TextLine


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

    def text(self, at: Point, text: str, style: TextStyle | None = None) -> None:
        """Write a line of text."""
        self.marks.append(TextLine(at, text, style or TextStyle()))

    def arrow(self, tip: Point, direction: Point, size: float, colour: str = INK) -> None:
        """Draw an arrow head with its tip at a point; ``direction`` is a unit vector."""
        (x, y), (u, v) = tip, direction
        base, half = (x - size * u, y - size * v), 0.42 * size
        self.area(
            [
                tip,
                (base[0] - half * v, base[1] + half * u),
                (base[0] + half * v, base[1] - half * u),
            ],
            colour,
        )
