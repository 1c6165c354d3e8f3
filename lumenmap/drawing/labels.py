"""Labels that don't overlap."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from lumenmap.drawing.canvas import Point

#: Mean width of a letter and height of a line, in units of the type's size, for Helvetica [C].
_WIDTH, _HEIGHT = 0.56, 0.9

Box = tuple[float, float, float, float]


@dataclass(slots=True)
class Labels:
    """Boxes (x0, y0, x1, y1; mm) taken on a page; labels, and the lines that lead to them."""

    taken: list[Box] = field(default_factory=list)
    _words: list[Box] = field(default_factory=list)
    _leaders: list[tuple[Point, Point]] = field(default_factory=list)

    def take(self, box: Box) -> None:
        """Keep labels out of a box."""
        self.taken.append(box)

    def free(self, box: Box) -> bool:
        """Return whether a box overlaps none that is taken, and lies on no line to a label."""
        return not any(
            box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in self.taken
        ) and not any(crosses(*line, box) for line in self._leaders)

    def place(
        self, text: str, size: float, middles: Iterable[Point], *, must: bool = False
    ) -> Point | None:
        """Return the first of some points at which the middle of a label is free, and take it.

        Parameters
        ----------
        must
            If none is free, return the point at which it covers least instead of None.
        """
        found = [(middle, box_of(text, size, middle)) for middle in middles]
        for middle, box in found:
            if self.free(box):
                self._note(box)
                return middle
        if must and found:
            middle, box = min(found, key=lambda place: self._covered(place[1]))
            self._note(box)
            return middle
        return None

    def lead(self, at: Point, half: Point, middles: Iterable[Point]) -> Point:
        """Return the middle of a label to which a line leads from ``at``, and take both.

        It is the first of ``middles`` that is free and whose line crosses no other label; if none
        is, a free one; without one, where it covers least. ``half``: half its width and height.
        """
        found, free = list(middles), list[Point]()
        boxes = {m: (m[0] - half[0], m[1] - half[1], m[0] + half[0], m[1] + half[1]) for m in found}
        best: Point | None = None
        for middle in found:
            if self.free(boxes[middle]):
                free.append(middle)
                if not any(crosses(at, middle, word) for word in self._words):
                    best = middle
                    break
        if best is None:
            best = free[0] if free else min(found, key=lambda m: self._covered(boxes[m]))
        self._note(boxes[best])
        self._leaders.append((at, rim(at, best, half)))
        return best

    def _note(self, box: Box) -> None:
        self.take(box)
        self._words.append(box)

    def _covered(self, box: Box) -> float:
        """Return how much of what is taken a box covers (mm2)."""
        return sum(
            max(0.0, min(box[2], b[2]) - max(box[0], b[0]))
            * max(0.0, min(box[3], b[3]) - max(box[1], b[1]))
            for b in self.taken
        )


def box_of(text: str, size: float, middle: Point) -> Box:
    """Return the box that a label takes, with a rim round it."""
    (x, y), half_w, half_h = middle, *halves(text, size)
    return x - half_w, y - half_h, x + half_w, y + half_h


def crosses(a: Point, b: Point, box: Box) -> bool:
    """Return whether a straight line passes through a box (Liang and Barsky)."""
    first, last = 0.0, 1.0
    for axis in (0, 1):
        step = b[axis] - a[axis]
        for inward, room in ((step, a[axis] - box[axis]), (-step, box[axis + 2] - a[axis])):
            if abs(inward) < 1e-9:
                if room <= 0:
                    return False
            elif inward > 0:
                first = max(first, -room / inward)
            else:
                last = min(last, room / -inward)
    return first < last


def halves(text: str, size: float) -> Point:
    """Return half the width and height that a label takes, with a rim round it."""
    return width_of(text, size) / 2 + 0.4, size * _HEIGHT / 2 + 0.2


def around(at: Point, outward: Point, distances: Iterable[float]) -> list[Point]:
    """Return points round a point: outward first, then to the sides, then inward."""
    (x, y), (u, v) = at, outward
    directions = [(u, v), (u - v, v + u), (u + v, v - u), (-v, u), (v, -u), (-u, -v)]
    found = []
    for distance in distances:
        for a, b in directions:
            size = math.hypot(a, b) or 1.0
            found.append((x + distance * a / size, y + distance * b / size))
    return found


def fan(at: Point, outward: Point, distances: Iterable[float]) -> list[Point]:
    """Return points in 32 directions round a point, of each distance those outward first."""
    turns = [side * k * math.pi / 16 for k in range(17) for side in (1, -1)][1:-1]
    first = math.atan2(outward[1], outward[0])
    return [
        (at[0] + far * math.cos(first + turn), at[1] + far * math.sin(first + turn))
        for far in distances
        for turn in turns
    ]


def leader(at: Point, middle: Point, text: str, size: float) -> Point:
    """Return where a thin line from a point to its label ends: at the label's rim, not in it."""
    return rim(at, middle, halves(text, size))


def rim(at: Point, middle: Point, half: Point) -> Point:
    """Return where a line from a point to the middle of a box enters it; inside it, the point."""
    u, v = at[0] - middle[0], at[1] - middle[1]
    part = min((room / abs(x) for room, x in zip(half, (u, v), strict=True) if x), default=1.0)
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
