"""`Panel`: one view of the map, or the part of it round some pixels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.sheets.plans.views import View

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """One view: its lines, which pixels it shows, and its box (m).

    ``part``: whether it is a close-up of the pixels.
    """

    view: View
    lines: list[F]
    shown: NDArray[np.bool_]
    low: F
    high: F
    part: bool = False

    @property
    def size(self) -> tuple[float, float]:
        """Width and height (m)."""
        w, h = self.high - self.low
        return float(w), float(h)

    def near(self, places: F, room: float) -> Panel:
        """Return the part of the view round some points (K, 2), with some room (m)."""
        low = np.maximum(self.low, places.min(0) - room)
        high = np.minimum(self.high, places.max(0) + room)
        inside = (clip(line, low, high) for line in self.lines)
        kept = [line for line in inside if line is not None]
        return Panel(self.view, kept, self.shown, low, high, part=True)


def clip(line: F, low: F, high: F) -> F | None:
    """Return the part of a straight line (2, 2) inside a box (Liang and Barsky), or None."""
    start, step = line[0], line[1] - line[0]
    first, last = 0.0, 1.0
    for axis in (0, 1):
        for inward, room in (
            (step[axis], start[axis] - low[axis]),
            (-step[axis], high[axis] - start[axis]),
        ):
            if inward == 0 and room < 0:
                return None
            if inward > 0:
                first = max(first, -room / inward)
            elif inward < 0:
                last = min(last, room / -inward)
    return start + np.array([[first], [last]]) * step if first < last else None
