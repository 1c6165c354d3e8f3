"""House to PixelMap: every hole of every edge that a line runs along, in the order of the wire.

Strategy: each edge is laid out once, from its own start, whichever lines run over it and however.
A line then takes the holes in the order its data reaches them. So no choice of path, direction or
entry moves a pixel.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.units import show_length
from lumenmap.house.model import Edge, House, Jumper, Line, Rail, Run, Spares
from lumenmap.pixels.holes import Holes, exact, holes
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.pixels.select import members

#: More pixels than any house carries; checked before anything of that size is made.
MOST_PIXELS = 200_000
#: A step of the wire from one edge to the next that needs no jumper of its own (m): what a
#: string's own wire reaches across a corner; common practice, no source.
REACH = 0.305

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """An edge laid out: its true length (m, exact), and its straight pieces from its start.

    ``pieces`` holds (start m, length m, holes) of each.
    """

    edge: Edge
    length: Fraction
    pieces: tuple[tuple[Fraction, Fraction, Holes], ...]

    @property
    def count(self) -> int:
        """Holes in all."""
        return sum(h.count for _, _, h in self.pieces)

    def along(self) -> F:
        """Return (count,) m from the edge's start."""
        parts = [float(start) + h.places() for start, _, h in self.pieces]
        return np.concatenate(parts) if parts else np.zeros(0)

    def at(self, along: F) -> F:
        """Return (…, 3) m of places ``along`` the edge."""
        knots = np.array([0.0, *(float(start + size) for start, size, _ in self.pieces)])
        return np.stack([np.interp(along, knots, c) for c in self.edge.points.T], axis=-1)


def lay(edge: Edge, rail: Rail) -> Laid:
    """Lay an edge out: each straight piece of it carries its own rails.

    The owner's tape overrules the model: the holes follow the measured length.
    """
    steps = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    total = edge.measured if edge.measured is not None else exact(float(steps.sum()))
    knots = [exact(float(v)) for v in np.concatenate([[0.0], np.cumsum(steps)])]
    scale = total / knots[-1]
    pieces = []
    for start, stop in pairwise(knots):
        size = (stop - start) * scale
        pieces.append((start * scale, size, holes(size, rail)))
    return Laid(edge, total, tuple(pieces))


def map_pixels(house: House) -> PixelMap:
    """Return where each pixel of a house is, in wiring order.

    Raises
    ------
    InputError
        Too many pixels, none at all, or a path that leaps with no jumper.
    """
    laid: dict[str, Laid] = {}
    for line in house.lines:
        for step in line.path:
            if isinstance(step, Run) and step.edge not in laid:
                laid[step.edge] = lay(house.edges[step.edge], house.rail)
    total = sum(e.count for e in laid.values()) + _spares(house)
    if total > MOST_PIXELS:
        raise InputError(
            f"makes {total:,} pixels; {MOST_PIXELS:,} is the most. A hole every "
            f"{show_length(house.rail.hole_spacing, house.unit)}: is that the unit you meant?",
            file=house.file, key="rail.hole_spacing",
        )  # fmt: skip
    names = tuple(house.edges)
    walks = [_Walk(house, line, laid, {n: i for i, n in enumerate(names)}) for line in house.lines]
    return _join(house, walks, names)


def _spares(house: House) -> int:
    return sum(s.count for line in house.lines for s in line.path if isinstance(s, Spares))


@dataclass(slots=True)
class _Walk:
    """One line walked from its start: the rows it adds to the map."""

    house: House
    line: Line
    laid: dict[str, Laid]
    index: dict[str, int]
    wire: float = 0.0
    here: F | None = None
    last: str = ""
    jumped: bool = False
    rows: list[tuple[F, ...]] = field(default_factory=list)

    def __post_init__(self) -> None:
        for i, step in enumerate(self.line.path):
            if isinstance(step, Jumper):
                self.wire += float(step.length)
                self.jumped = True
            elif isinstance(step, Spares):
                self._spare(step.count)
            else:
                self._run(step, i)

    def _spare(self, count: int) -> None:
        place = self.here if self.here is not None else self._first()
        self._add(np.tile(place, (count, 1)), np.tile((0.0, 0.0, 1.0), (count, 1)),
                  np.full(count, self.wire), np.zeros(count), np.ones(count),
                  np.full(count, -1), np.zeros(count))  # fmt: skip

    def _first(self) -> F:
        run = next(s for s in self.line.path if isinstance(s, Run))
        return self.laid[run.edge].at(np.array(_ends(run, self.laid[run.edge])[0]))

    def _run(self, run: Run, number: int) -> None:
        edge = self.laid[run.edge]
        enter, leave = _ends(run, edge)
        start, stop = edge.at(np.array([enter, leave]))
        self._step_to(start, run, number)
        low, high = min(enter, leave), max(enter, leave)
        along = edge.along()
        along = along[(along >= low - 1e-9) & (along < high + 1e-9)]
        if run.reversed:
            along = along[::-1]
        n = len(along)
        self._add(edge.at(along), np.tile(edge.edge.facing, (n, 1)),
                  self.wire + np.abs(along - enter), along, np.full(n, float(edge.length)),
                  np.full(n, self.index[run.edge]), np.ones(n))  # fmt: skip
        self.wire += high - low
        self.here, self.last, self.jumped = stop, run.edge, False

    def _step_to(self, start: F, run: Run, number: int) -> None:
        if self.here is None or self.jumped:
            return
        gap = float(np.linalg.norm(start - self.here))
        if gap > REACH:
            far = show_length(gap, self.house.unit)
            raise InputError(
                f'the path leaps {far} from "{self.last}" to "{run.edge}" with no wire; put '
                f'{{ jumper = "{far}" }} or more between them, or run an edge reversed',
                file=self.house.file, key=f'line "{self.line.name}", path[{number}]',
            )  # fmt: skip
        self.wire += gap

    def _add(self, *columns: F) -> None:
        self.rows.append(columns)


def _ends(run: Run, edge: Laid) -> tuple[float, float]:
    """Return where along the edge the wire enters and leaves it (m)."""
    low = float(run.start) if run.start is not None else 0.0
    high = float(run.stop) if run.stop is not None else float(edge.length)
    return (high, low) if run.reversed else (low, high)


def _join(house: House, walks: list[_Walk], names: tuple[str, ...]) -> PixelMap:
    spans: list[LineSpan] = []
    first = 0
    for walk in walks:
        count = sum(len(r[0]) for r in walk.rows)
        line = walk.line
        if not count:
            raise InputError(
                "its edges are too short for a single hole", file=house.file,
                key=f'line "{line.name}"',
            )  # fmt: skip
        spans.append(LineSpan(line.name, first, count, line.universe, line.order, walk.wire))
        first += count
    rows = [row for walk in walks for row in walk.rows]
    xyz, facing, wire, along, size, edge, lit = (np.concatenate(c) for c in zip(*rows, strict=True))
    lines = np.repeat(np.arange(len(spans), dtype=np.int32), [s.count for s in spans])
    edges = edge.astype(np.int32)
    groups = {name: members(house, name, names)[edges] for name in house.groups}
    return PixelMap(xyz, facing, wire, along, size, edges, lines, lit > 0, names, tuple(spans),
                    house.kind, groups)  # fmt: skip
