"""Labels that keep out of each other's way."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from lumenmap.drawing.canvas import Point

#: Width of a letter and height of a line, of the type's size: near enough for Helvetica.
WIDE, HIGH = 0.56, 0.9

Box = tuple[float, float, float, float]


@dataclass(slots=True)
class Labels:
    """Boxes (x0, y0, x1, y1; mm) taken on a page."""

    taken: list[Box] = field(default_factory=list)

    def take(self, box: Box) -> None:
        """Keep labels off a box."""
        self.taken.append(box)

    def free(self, box: Box) -> bool:
        """Whether nothing is there yet."""
        return not any(
            box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in self.taken
        )

    def spot(
        self, text: str, size: float, middles: Iterable[Point], *, must: bool = False
    ) -> Point | None:
        """Return the first of the places that is free for a label's middle, and take it.

        Parameters
        ----------
        must
            Where none is free, give the first all the same instead of None.
        """
        half_w, half_h = len(text) * size * WIDE / 2 + 0.4, size * HIGH / 2 + 0.2
        first: Point | None = None
        for x, y in middles:
            first = first or (x, y)
            box = (x - half_w, y - half_h, x + half_w, y + half_h)
            if self.free(box):
                self.take(box)
                return x, y
        if must and first is not None:
            x, y = first
            self.take((x - half_w, y - half_h, x + half_w, y + half_h))
            return first
        return None


def around(at: Point, out: Point, reaches: Iterable[float]) -> list[Point]:
    """Return places round a point: outward first, then to the sides, then inward."""
    (x, y), (u, v) = at, out
    ways = [(u, v), (u - v, v + u), (u + v, v - u), (-v, u), (v, -u), (-u, -v)]
    found = []
    for reach in reaches:
        for a, b in ways:
            size = (a * a + b * b) ** 0.5 or 1.0
            found.append((x + reach * a / size, y + reach * b / size))
    return found
