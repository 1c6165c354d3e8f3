"""Walking a line from its start: the pixels in the order the data reaches them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.units import show_length
from lumenmap.house.model import House, Jumper, Line, Run, Spares
from lumenmap.house.path import item_key
from lumenmap.pixels.edge_layout import EdgeLayout

#: A step of the wire from one edge to the next that needs no jumper of its own (m): what a
#: string's own wire reaches across a corner; common practice, no source.
REACH = 0.305

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RunLayout:
    """A run of a line as walked.

    Attributes
    ----------
    run
        The step of the path.
    enter, leave
        Where along the edge the wire enters and leaves it (m).
    wire
        m of wire from the line's start to where it enters.
    gap, jumper
        From the leg before: m in space, and the wire without pixels that is given for it.
    first, count
        Its pixels, numbered on the line from 0.
    """

    run: Run
    enter: float
    leave: float
    wire: float
    gap: float
    jumper: float
    first: int
    count: int


@dataclass(slots=True)
class LineLayout:
    """One line walked: its legs, and the columns of rows it adds to the map.

    Each row block holds xyz, facing, wire, along, edge length, edge index, lit. ``hidden`` tells of
    the spares: how many legs come before them, the first one's number on the line from 0, and how
    many they are.
    """

    house: House
    line: Line
    laid: Mapping[str, EdgeLayout]
    index: Mapping[str, int]
    wire: float = 0.0
    count: int = 0
    legs: list[RunLayout] = field(default_factory=list)
    hidden: list[tuple[int, int, int]] = field(default_factory=list)
    rows: list[tuple[F, ...]] = field(default_factory=list)

    def __post_init__(self) -> None:
        jumper, at = 0.0, 0
        here: F | None = None
        for i, step in enumerate(self.line.path):
            if isinstance(step, Jumper):
                jumper, at = jumper + float(step.length), i
            elif isinstance(step, Spares):
                self._spares(step.count, here, jumper)
            else:
                here = self._run(step, at if jumper else i, here, jumper)
                jumper = 0.0
        self.wire += jumper
        self._check()

    def _run(self, run: Run, number: int, here: F | None, jumper: float) -> F:
        """Add a run; return where it leaves its edge. ``number``: the item that brings it there."""
        edge = self.laid[run.edge]
        enter, leave = ends(run, edge)
        start, stop = edge.at(np.array([enter, leave]))
        gap = float(np.linalg.norm(start - here)) if here is not None else 0.0
        if gap > jumper + REACH:
            raise self._leap(run, number, gap, jumper)
        self.wire += jumper or gap
        low, high = min(enter, leave), max(enter, leave)
        along = edge.along
        along = along[np.searchsorted(along, low - 1e-9) : np.searchsorted(along, high + 1e-9)]
        if run.reversed:
            along = along[::-1]
        n = len(along)
        self.legs.append(RunLayout(run, enter, leave, self.wire, gap, jumper, self.count, n))
        self._add(
            edge.at(along),
            np.tile(edge.edge.facing, (n, 1)),
            self.wire + np.abs(along - enter),
            along,
            np.full(n, float(edge.length)),
            np.full(n, self.index[run.edge]),
            np.ones(n),
        )
        self.wire += high - low
        return np.asarray(stop)

    def _spares(self, count: int, here: F | None, jumper: float) -> None:
        if here is None:
            run = next(s for s in self.line.path if isinstance(s, Run))
            here = self.laid[run.edge].at(np.array(ends(run, self.laid[run.edge])[0]))
        self.hidden.append((len(self.legs), self.count, count))
        # Hidden where the wire is; they have no edge, and a length of 1 m so none divides by 0.
        self._add(
            np.tile(here, (count, 1)),
            np.tile((0.0, 0.0, 1.0), (count, 1)),
            np.full(count, self.wire + jumper),
            np.zeros(count),
            np.ones(count),
            np.full(count, -1),
            np.zeros(count),
        )

    def _add(self, *columns: F) -> None:
        self.rows.append(columns)
        self.count += len(columns[0])

    def _leap(self, run: Run, number: int, gap: float, jumper: float) -> InputError:
        unit, before = self.house.unit, self.legs[-1]
        far = show_length(gap, unit)
        last = before.run.edge
        if jumper:
            text = (
                f"the jumper of {show_length(jumper, unit)} is too short: it is {far} from "
                f'the end of "{last}" to the start of "{run.edge}"'
            )
        else:
            text = (
                f'the path leaps {far} from the end of "{last}" to the start of "{run.edge}" '
                f'with no wire; put {{ jumper = "{far}" }} or more between them'
            )
        text += self._other_way(run, before.run)
        key = item_key(self.line.name, number, "jumper" if jumper else "")
        return InputError(text, file=self.house.file, key=key)

    def _other_way(self, run: Run, before: Run) -> str:
        """Say which of two edges to turn round so that they meet, if that is all it takes."""
        for turned, first, second in (
            (run, before, replace(run, reversed=not run.reversed)),
            (before, replace(before, reversed=not before.reversed), run),
        ):
            end = self.laid[first.edge].at(np.array(ends(first, self.laid[first.edge])[1]))
            start = self.laid[second.edge].at(np.array(ends(second, self.laid[second.edge])[0]))
            if float(np.linalg.norm(end - start)) <= REACH:
                way = turned.edge if turned.reversed else f"{turned.edge} reversed"
                return f'; or turn one round: "{way}"'
        return ""

    def _check(self) -> None:
        """Hold what the owner says about the line against what is there."""
        line, key = self.line, f'line "{self.line.name}"'
        if not self.count:
            raise InputError(
                "its edges are too short for a single hole", file=self.house.file, key=key
            )
        if line.pixels is not None and line.pixels != self.count:
            more = line.pixels - self.count
            text = (
                f"the string is {more} longer than the path, which has {self.count:,} holes: "
                f"cut {more} off, or hide them with {{ spares = {more} }}"
                if more > 0
                else f"the string is {-more} shorter than the path, which has {self.count:,} "
                f"holes: add {-more} pixels, or stop the last edge earlier"
            )
            raise InputError(text, file=self.house.file, key=f"{key}, pixels")
        for number in line.dead:
            if number > self.count:
                raise InputError(
                    f"is {number}, but the line has {self.count:,} pixels",
                    file=self.house.file,
                    key=f"{key}, dead",
                )


def ends(run: Run, edge: EdgeLayout) -> tuple[float, float]:
    """Return where along the edge the wire enters and leaves it (m)."""
    low = float(run.start) if run.start is not None else 0.0
    high = float(run.stop) if run.stop is not None else float(edge.length)
    return (high, low) if run.reversed else (low, high)
