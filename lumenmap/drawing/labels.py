"""Labels that don't overlap."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from lumenmap.drawing.canvas import Point

#: Mean width of a letter and height of a line, in units of the type's size, for Helvetica [C].
_WIDTH, _HEIGHT = 0.56, 0.9

Box = tuple[float, float, float, float]


@dataclass(slots=True)
class Labels:
    """Boxes (x0, y0, x1, y1; mm) that are taken on a page."""

    taken: list[Box] = field(default_factory=list)

    def take(self, box: Box) -> None:
        """Keep labels out of a box."""
        self.taken.append(box)

    def free(self, box: Box) -> bool:
        """Return whether a box overlaps none that is taken."""
        return not any(
            box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in self.taken
        )

    def place(
        self, text: str, size: float, middles: Iterable[Point], *, must: bool = False
    ) -> Point | None:
        """Return the first of some points at which the middle of a label is free, and take it.

        Parameters
        ----------
        must
            If none is free, return the first point instead of None.
        """
        first: Point | None = None
        for middle in middles:
            first = first or middle
            box = box_of(text, size, middle)
            if self.free(box):
                self.take(box)
                return middle
        if must and first is not None:
            self.take(box_of(text, size, first))
            return first
        return None


def box_of(text: str, size: float, middle: Point) -> Box:
    """Return the box that a label takes, with a rim round it."""
    (x, y), half_w, half_h = middle, *_halves(text, size)
    return x - half_w, y - half_h, x + half_w, y + half_h


def _halves(text: str, size: float) -> tuple[float, float]:
    return width_of(text, size) / 2 + 0.4, size * _HEIGHT / 2 + 0.2


def around(at: Point, outward: Point, distances: Iterable[float]) -> list[Point]:
    """Return points round a point: outward first, then to the sides, then inward."""
    (x, y), (u, v) = at, outward
    directions = [(u, v), (u - v, v + u), (u + v, v - u), (-v, u), (v, -u), (-u, -v)]
    found = []
    for distance in distances:
        for a, b in directions:
            size = (a * a + b * b) ** 0.5 or 1.0
            found.append((x + distance * a / size, y + distance * b / size))
    return found


def leader(at: Point, middle: Point, text: str, size: float) -> Point:
    """Return where a thin line from a point to its label ends: at the label's rim, not in it."""
    u, v = at[0] - middle[0], at[1] - middle[1]
    half_w, half_h = _halves(text, size)
    part = min((half / abs(x) for half, x in ((half_w, u), (half_h, v)) if x), default=1.0)
    part = min(part, 1.0)
    return middle[0] + part * u, middle[1] + part * v


def shortened(text: str, size: float, room: float) -> str:
    """Return text that is at most ``room`` mm wide, without its middle if it is longer."""
    most = max(3, int(room / (size * _WIDTH)))
    if len(text) <= most:
        return text
    return f"{text[: most // 2]}…{text[len(text) - (most - most // 2 - 1) :]}"


def width_of(text: str, size: float) -> float:
    """Return the approximate width of text (mm)."""
    return len(text) * size * _WIDTH
