"""The layout of an edge: its straight pieces, each with rails and holes of its own."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.house.choices import RIGHT_UNIT
from lumenmap.house.model import Edge, House, Run, Spares
from lumenmap.house.rails import Rail
from lumenmap.pixels.holes import Holes, lay_out_holes, rounded

#: More pixels than any house has; checked before anything of that size is made.
MAX_PIXELS = 200_000

F = NDArray[np.float64]


class Piece(NamedTuple):
    """A part of an edge that rails follow without a bend: exact m from the edge's start."""

    start: Fraction
    length: Fraction
    holes: Holes


@dataclass(frozen=True, eq=False)
class EdgeLayout:
    """An edge with its rails and holes.

    Attributes
    ----------
    edge, rail
        The edge, and how its rails are drilled.
    length
        Its length, exact m: as measured with a tape, if it was.
    knots
        (K,) m along it, of the edge's points.
    pieces
        Its pieces, from its start.
    """

    edge: Edge
    rail: Rail
    length: Fraction
    knots: F
    pieces: tuple[Piece, ...]

    @property
    def count(self) -> int:
        """The number of holes."""
        return sum(p.holes.count for p in self.pieces)

    @cached_property
    def along(self) -> F:
        """(count,) m from the edge's start to each hole."""
        parts = [float(p.start) + p.holes.positions() for p in self.pieces]
        return np.concatenate(parts) if parts else np.zeros(0)

    def at(self, along: F) -> F:
        """Return the points (…, 3), m, at positions ``along`` the edge (…), m."""
        return np.stack([np.interp(along, self.knots, c) for c in self.edge.points.T], axis=-1)

    def facing(self, along: F) -> F:
        """Return the directions (N, 3) in which pixels shine at positions ``along`` (N,), m."""
        part = np.searchsorted(self.knots, along, side="right") - 1
        return self.edge.facings[np.clip(part, 0, len(self.knots) - 2)]


def layout_edge(edge: Edge, common: Rail) -> EdgeLayout:
    """Return the layout of an edge; ``common`` is how rails are drilled unless the edge says.

    The length that the owner measured overrides the model's.
    """
    rail = edge.rail or common
    steps = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    knots = [rounded(float(v)) for v in np.concatenate([[0.0], np.cumsum(steps)])]
    total = edge.measured if edge.measured is not None else knots[-1]
    scaled = [k * total / knots[-1] for k in knots]
    ends = [scaled[0], scaled[-1]] if edge.flexible else scaled
    pieces = tuple(Piece(a, b - a, lay_out_holes(b - a, rail)) for a, b in pairwise(ends))
    return EdgeLayout(edge, rail, total, np.array([float(k) for k in scaled]), pieces)


def layout_edges(house: House) -> dict[str, EdgeLayout]:
    """Return the layout of every edge that a line follows, in the order the lines reach them.

    Raises
    ------
    InputError
        More pixels than `MAX_PIXELS`.
    """
    layouts: dict[str, EdgeLayout] = {}
    total = 0
    for line in house.lines:
        for step in line.path:
            if isinstance(step, Spares):
                total += step.count
            elif isinstance(step, Run) and step.edge not in layouts:
                layouts[step.edge] = layout_edge(house.edges[step.edge], house.rail)
                total += layouts[step.edge].count
    if total > MAX_PIXELS:
        raise InputError(
            f"makes {total:,} pixels; at most {MAX_PIXELS:,} are supported. A hole every "
            f"{float(house.rail.hole_spacing * 1000):.3g} mm: {RIGHT_UNIT}",
            file=house.file,
            key="rail.hole_spacing",
        )
    return layouts
