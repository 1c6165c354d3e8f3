"""Where pairs of wires join the lines, and where the plus is cut: marks, and the pixels there."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from lumenmap.drawing.canvas import Point
from lumenmap.sheets.wires.leads import cuts, leads
from lumenmap.site import Site


class Joint(NamedTuple):
    """A mark, whether it is that of a cut, the line's name, and the number of the nearest pixel.

    Pixels are counted over all lines, from 0.
    """

    mark: str
    cut: bool
    line: str
    pixel: int


def joints(site: Site) -> list[Joint]:
    """Return all of a house, line by line, those of wires first."""
    pixels, found = site.pixels, list[Joint]()
    for span in pixels.lines:
        rows = span.first + np.flatnonzero(pixels.edge[span.slice] >= 0)
        places = [
            (x.place.along, x.mark, False) for x in leads(site) if x.line == span.name and x.joins
        ]
        places += [(c.along, c.mark, True) for c in cuts(site) if c.line == span.name]
        for along, mark, cut in places:
            near = int(rows[np.abs(pixels.along_line[rows] - along).argmin()])
            found.append(Joint(mark, cut, span.name, near))
    return found


def own_first(candidates: Iterable[Point], at: Point, others: Iterable[Point]) -> list[Point]:
    """Return places for a label, those first that are nearer to its point than to any other's."""
    rest = [other for other in others if math.dist(at, other) > 1e-6]

    def strays(point: Point) -> bool:
        return any(math.dist(point, other) < math.dist(point, at) for other in rest)

    return sorted(candidates, key=strays)
