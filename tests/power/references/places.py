"""Places on a line by `lumenmap help wiring`, read again: x, s, and the connector if it is one."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import pairwise

from lumenmap.core.units import length
from lumenmap.house.model import House
from lumenmap.pixels.pixelmap import LineSpan, PixelMap


@dataclass(frozen=True)
class Spot:
    """m along the line, m of string wire before it, and its connector."""

    x: float
    s: float
    connector: int = 0


class Chain:
    """The pixels of a line: ``x`` and ``s`` of each, and its connectors."""

    def __init__(self, house: House, pixelmap: PixelMap, span: LineSpan) -> None:
        self.span, self.unit, make = span, house.unit, house.string
        self.x = pixelmap.along_line[span.slice].tolist()
        self.size = make.pixels
        size, tail = make.pixels or span.count, make.tail
        holes = float(house.rail.hole_spacing)
        self.s = [max(self.x[0], tail)]
        self.spots = [Spot(0.0, 0.0, 1)]
        for i in range(1, span.count):
            apart = self.x[i] - self.x[i - 1]
            wire = max(apart, make.spacing or (holes if apart < 1e-6 else 0.0))
            joint = i % size == 0
            wire = max(wire, 2 * tail) if joint else wire
            self.s.append(self.s[-1] + wire)
            if joint:
                middle = self.s[-1] - wire / 2
                self.spots.append(Spot(self.x[i] - apart / 2, middle, len(self.spots) + 1))
        stop = self.s[-1] + max(span.length - self.x[-1], tail)
        self.spots.append(Spot(span.length, stop, len(self.spots) + 1))
        assert len(self.spots) == math.ceil(span.count / size) + 1

    def spot(self, text: str) -> Spot:
        if text == "start":
            return self.spots[0]
        if text == "end":
            return self.spots[-1]
        if text == "middle":
            return self.at(self.span.length / 2)
        if m := re.fullmatch(r"(connector|pixel) (\d+)", text):
            k = int(m[2]) - 1
            return self.spots[k] if m[1] == "connector" else Spot(self.x[k], self.s[k])
        return self.at(min(float(length(text, self.unit)), self.span.length))

    def at(self, x: float) -> Spot:
        ends = [(0.0, 0.0, 1)]
        ends += [(a, b, 0) for a, b in zip(self.x, self.s, strict=True)]
        ends.append((self.span.length, self.spots[-1].s, len(self.spots)))
        for a, b, connector in ends:
            if abs(a - x) <= 1e-6:
                return Spot(a, b, connector)
        for (a, b, _), (c, d, _) in pairwise(ends):
            if a < x < c:
                s = b + (d - b) * (x - a) / (c - a)
                near = [j for j in self.spots if abs(j.s - s) <= 1e-6]
                return near[0] if near else Spot(x, s)
        raise AssertionError(x)

    def cut(self, text: str) -> float:
        if m := re.fullmatch(r"after pixel (\d+)", text):
            return self.s[int(m[1]) - 1] + 5e-7
        return self.spot(text).s
