"""Places on a line, by "Places on a line" of `lumenmap help wiring`."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tests.power.spice.figures import metres

#: Places nearer than this are one, m.
ONE = 1e-6
INCH_TAIL = 6 * 0.0254


class Place(NamedTuple):
    """m along the line, m of the string's own wire, and whether a connector is there."""

    x: float
    s: float
    connector: bool = False


class Line:
    """A line's pixels and connectors, in x and s.

    Parameters
    ----------
    x : of its pixels, in the order of the data, m.
    wire : x of the end.
    hidden : which pixels are hidden.
    file : the house file, read as TOML.
    """

    def __init__(
        self, x: NDArray[Any], wire: float, hidden: NDArray[np.bool_], file: dict[str, Any]
    ) -> None:
        string = file.get("string", {})
        self.x = [float(v) for v in x]
        self.size = string.get("pixels", 0)
        tail = metres(string.get("tail", INCH_TAIL if self.size else 0))
        spacing = metres(string["spacing"]) if "spacing" in string else 0.0
        hole = spacing or metres(file["rail"]["hole_spacing"])
        s = [max(self.x[0], tail)]
        for k in range(1, len(self.x)):
            apart = self.x[k] - self.x[k - 1]
            both_hidden = bool(hidden[k] and hidden[k - 1]) and apart < ONE
            two_tails = 2 * tail if self.size and k % self.size == 0 else 0.0
            s.append(s[-1] + max(apart, hole if both_hidden else spacing, two_tails))
        self.s = s
        self.start = Place(0.0, 0.0, True)
        self.end = Place(wire, s[-1] + max(wire - self.x[-1], tail), True)
        joints = range(self.size, len(s), self.size) if self.size else ()
        #: Where two strings are joined.
        self.joints = [
            Place((self.x[k - 1] + self.x[k]) / 2, (s[k - 1] + s[k]) / 2, True) for k in joints
        ]
        self.connectors = [self.start, *self.joints, self.end]

    def pixel(self, number: int) -> Place:
        return Place(self.x[number - 1], self.s[number - 1])

    def at(self, text: float | str) -> Place:
        """Return the place that a house file's text means."""
        if not isinstance(text, str):
            return self.at_length(float(text))
        match text.split():
            case ["start"]:
                return self.start
            case ["end"]:
                return self.end
            case ["middle"]:
                return self.at_length(self.end.x / 2)
            case ["pixel", number]:
                return self.pixel(int(number))
            case ["connector", number]:
                return self.connectors[int(number) - 1]
        return self.at_length(metres(text))

    def at_length(self, x: float) -> Place:
        pixels = [Place(*xs) for xs in zip(self.x, self.s, strict=True)]
        named = [self.start, *pixels, self.end]
        for place in named:
            if abs(place.x - x) <= ONE:
                return place
        before = max((p for p in named if p.x < x), key=lambda p: p.s)
        after = min((p for p in named if p.x > x), key=lambda p: p.s)
        share = (x - before.x) / (after.x - before.x)
        s = before.s + share * (after.s - before.s)
        return next((joint for joint in self.joints if abs(joint.s - s) <= ONE), Place(x, s))

    def nearest_connector(self, x: float) -> Place:
        return min(self.connectors, key=lambda place: (round(abs(place.x - x), 9), place.s))

    def bus_steps(self, start: float, stop: float, every: float | None) -> list[Place]:
        """Return a bus's ties at both ends and in equal steps between."""
        steps = max(1, math.floor((stop - start) / every + 0.5)) if every else 1
        return [self.at_length(start + (stop - start) * k / steps) for k in range(steps + 1)]
