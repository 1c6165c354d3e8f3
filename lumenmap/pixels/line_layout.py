"""The layout of a line: its runs along edges, and its pixels in the order the data reaches them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, together
from lumenmap.core.lengths import show_at_least, show_written
from lumenmap.core.wording import some
from lumenmap.house.choices import RIGHT_UNIT
from lumenmap.house.model import House, Jumper, Line, Run, Spares
from lumenmap.house.paths import item_key
from lumenmap.pixels.edge_layout import EdgeLayout

#: The longest gap from one edge to the next that needs no jumper (m): what a string's own wire
#: spans at a corner; common practice, no source.
REACH = 0.305

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RunLayout:
    """A run of a line along an edge.

    Attributes
    ----------
    item
        The item of the path.
    enter, leave
        Where along the edge the wire enters and leaves it (m).
    wire
        Wire from the line's start to where it enters (m).
    gap, jumper
        The distance from the end of the run before it, and the jumper given for it (m).
    first, count
        Its pixels, numbered on the line from 0.
    """

    item: Run
    enter: float
    leave: float
    wire: float
    gap: float
    jumper: float
    first: int
    count: int


@dataclass(frozen=True, slots=True)
class HiddenPixels:
    """Hidden pixels: how many runs come before them, their first number (from 0), how many."""

    after_runs: int
    first: int
    count: int


@dataclass(slots=True)
class LineLayout:
    """A line with its runs, its hidden pixels, and the rows that it adds to the pixel map.

    A block of rows holds xyz, facing, wire, along, edge length, edge index, lit.
    """

    house: House
    line: Line
    edge_layouts: Mapping[str, EdgeLayout]
    edge_index: Mapping[str, int]
    wire: float = 0.0
    count: int = 0
    runs: list[RunLayout] = field(default_factory=list)
    hidden: list[HiddenPixels] = field(default_factory=list)
    rows: list[tuple[F, ...]] = field(default_factory=list)
    _gaps: list[InputError] = field(default_factory=list, repr=False)

    def __post_init__(self) -> None:
        jumper, at = 0.0, 0
        here: F | None = None
        for i, step in enumerate(self.line.path):
            if isinstance(step, Jumper):
                jumper, at = jumper + float(step.length), i
            elif isinstance(step, Spares):
                self._add_hidden(step.count, here, jumper)
            else:
                here = self._add_run(step, at if jumper else i, here, jumper)
                jumper = 0.0
        self.wire += jumper
        if self._gaps:
            raise together(self._gaps)
        self._check()

    def _add_run(self, run: Run, item: int, here: F | None, jumper: float) -> F:
        """Add a run; return where it leaves its edge. ``item``: what an error about a gap names."""
        edge = self.edge_layouts[run.edge]
        enter, leave = ends(run, edge)
        start, stop = edge.at(np.array([enter, leave]))
        gap = float(np.linalg.norm(start - here)) if here is not None else 0.0
        if gap > jumper + REACH:
            self._gaps.append(self._gap_error(run, item, gap, jumper))
        self.wire += jumper or gap
        low, high = min(enter, leave), max(enter, leave)
        along = edge.along
        along = along[np.searchsorted(along, low - 1e-9) : np.searchsorted(along, high + 1e-9)]
        if run.reversed:
            along = along[::-1]
        n = len(along)
        self.runs.append(RunLayout(run, enter, leave, self.wire, gap, jumper, self.count, n))
        self._add(
            edge.at(along),
            edge.facing(along),
            self.wire + np.abs(along - enter),
            along,
            np.full(n, float(edge.length)),
            np.full(n, self.edge_index[run.edge]),
            np.ones(n),
        )
        self.wire += high - low
        return np.asarray(stop)

    def _add_hidden(self, count: int, here: F | None, jumper: float) -> None:
        if here is None:
            run = next(s for s in self.line.path if isinstance(s, Run))
            here = self.edge_layouts[run.edge].at(
                np.array(ends(run, self.edge_layouts[run.edge])[0])
            )
        self.hidden.append(HiddenPixels(len(self.runs), self.count, count))
        # They have no edge, and a length of 1 m so that nothing divides by 0.
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

    def _gap_error(self, run: Run, item: int, gap: float, jumper: float) -> InputError:
        unit, before = self.house.unit, self.runs[-1]
        far = show_at_least(gap, unit)
        last, this = _written(before.item), _written(run)
        if jumper:
            text = (
                f"the jumper of {show_written(jumper, unit)} is too short: it is {far} from "
                f"the end of {last} to the start of {this}"
            )
        else:
            text = (
                f"there is a gap of {far} from the end of {last} to the start of {this}; "
                f'put {{ jumper = "{far}" }} or more between them'
            )
        text += self._reversal_hint(run, before.item)
        key = item_key(self.line.name, item, "jumper" if jumper else "")
        # A length in a wrong unit puts edges far apart.
        notes = [note for note in self.house.notes if note.endswith(RIGHT_UNIT)]
        asked = [InputError(note, file=self.house.file) for note in notes]
        return InputError(text, file=self.house.file, key=key, others=asked)

    def _reversal_hint(self, run: Run, before: Run) -> str:
        """Return which of two edges to reverse, or both, so that they meet, if that is all."""
        this = run._replace(reversed=not run.reversed)
        last = before._replace(reversed=not before.reversed)
        for turned, first, second in (
            ([this], before, this),
            ([last], last, run),
            ([last, this], last, this),
        ):
            end = self.edge_layouts[first.edge].at(
                np.array(ends(first, self.edge_layouts[first.edge])[1])
            )
            start = self.edge_layouts[second.edge].at(
                np.array(ends(second, self.edge_layouts[second.edge])[0])
            )
            if float(np.linalg.norm(end - start)) <= REACH:
                names = " and ".join(map(_written, turned))
                return f"; or reverse {'an edge' if len(turned) == 1 else 'both edges'}: {names}"
        return ""

    def _check(self) -> None:
        """Check the line against its number of pixels and its dead pixels as given in the file."""
        line, key = self.line, f'line "{self.line.name}"'
        if not self.count:
            raise InputError("has edges too short for a single hole", file=self.house.file, key=key)
        if line.pixels is not None and line.pixels != self.count:
            more = line.pixels - self.count
            text = (
                f"is {line.pixels:,}, {more} more than the path has holes ({self.count:,}): "
                f"cut {more} off the string, or hide them with {{ spares = {more} }}"
                if more > 0
                else f"is {line.pixels:,}, {-more} fewer than the path has holes ({self.count:,}): "
                f"add {some(-more, 'pixel')} to the string, or stop the last edge earlier"
            )
            raise InputError(text, file=self.house.file, key=f"{key}, pixels")
        for number in line.dead:
            if number > self.count:
                raise InputError(
                    f"is {number}, but the line has {some(self.count, 'pixel')}",
                    file=self.house.file,
                    key=f"{key}, dead",
                )


def _written(run: Run) -> str:
    """Return an edge as a path writes it; its start is where the data enters."""
    return f'"{run.edge}{" reversed" * run.reversed}"'


def ends(run: Run, edge: EdgeLayout) -> tuple[float, float]:
    """Return where along the edge the wire enters and leaves it (m)."""
    low = float(run.start) if run.start is not None else 0.0
    high = float(run.stop) if run.stop is not None else float(edge.length)
    return (high, low) if run.reversed else (low, high)
