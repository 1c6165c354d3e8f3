"""Laying an edge out: its straight pieces, each with rails and holes of its own."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.house.model import Edge, House, Rail, Run, Spares
from lumenmap.pixels.holes import Holes, exact, holes

#: More pixels than any house carries; checked before anything of that size is made.
MOST_PIXELS = 200_000

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of an edge that rails run along without a bend: exact m from the edge's start."""

    start: Fraction
    length: Fraction
    holes: Holes


@dataclass(frozen=True, eq=False)
class EdgeLayout:
    """An edge laid out.

    Attributes
    ----------
    edge, rail
        The edge, and how its rails are drilled.
    length
        Its true length, exact m: the tape's where there is one.
    knots
        (K,) m along it, of the edge's points.
    pieces
        Its pieces from its start.
    """

    edge: Edge
    rail: Rail
    length: Fraction
    knots: F
    pieces: tuple[Piece, ...]

    @property
    def count(self) -> int:
        """Holes in all."""
        return sum(p.holes.count for p in self.pieces)

    @cached_property
    def along(self) -> F:
        """(count,) m of each hole from the edge's start."""
        parts = [float(p.start) + p.holes.places() for p in self.pieces]
        return np.concatenate(parts) if parts else np.zeros(0)

    def at(self, along: F) -> F:
        """Return (…, 3) m of places ``along`` the edge."""
        return np.stack([np.interp(along, self.knots, c) for c in self.edge.points.T], axis=-1)


def lay(edge: Edge, common: Rail) -> EdgeLayout:
    """Lay an edge out: each straight piece of it carries its own rails.

    The owner's tape overrules the model: the holes follow the measured length.
    """
    rail = edge.rail or common
    steps = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    knots = [exact(float(v)) for v in np.concatenate([[0.0], np.cumsum(steps)])]
    total = edge.measured if edge.measured is not None else knots[-1]
    scaled = [k * total / knots[-1] for k in knots]
    ends = [scaled[0], scaled[-1]] if edge.flexible else scaled
    pieces = tuple(Piece(a, b - a, holes(b - a, rail)) for a, b in pairwise(ends))
    return EdgeLayout(edge, rail, total, np.array([float(k) for k in scaled]), pieces)


def layout_edges(house: House) -> dict[str, EdgeLayout]:
    """Lay out every edge that a line runs along, in the order the lines come to them.

    Raises
    ------
    InputError
        More pixels than `MOST_PIXELS`.
    """
    laid: dict[str, EdgeLayout] = {}
    total = 0
    for line in house.lines:
        for step in line.path:
            if isinstance(step, Spares):
                total += step.count
            elif isinstance(step, Run) and step.edge not in laid:
                laid[step.edge] = lay(house.edges[step.edge], house.rail)
                total += laid[step.edge].count
    if total > MOST_PIXELS:
        raise InputError(
            f"makes {total:,} pixels; {MOST_PIXELS:,} is the most. A hole every "
            f"{float(house.rail.hole_spacing * 1000):.3g} mm: is that the unit you meant?",
            file=house.file,
            key="rail.hole_spacing",
        )
    return laid
