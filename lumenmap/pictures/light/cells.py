"""Faces cut into cells, small where a lamp is near and along slanting outlines."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

#: Next to each other, lines are further apart by no more than this factor.
WIDER = 2.0
#: A cell isn't longer than this times its distance from the nearest lamp, unless it is short (m).
LONG, SHORT = 1.0, 0.15
#: Length of cells along an outline that cuts them (m).
RIM = 0.3
#: Places in a cell where it is asked whether it is on the face: the corners and the middle.
_PROBES = 0.01 + 0.98 * np.array([(0, 0), (1, 0), (1, 1), (0, 1), (0.5, 0.5)])


class Cells(NamedTuple):
    """C rectangles in the coordinates of a face (m).

    Attributes
    ----------
    low, size
        (C, 2) the corner with the smallest coordinates; the lengths of the sides.
    square
        (C,) the number of the square between lines that each was cut from.
    """

    low: F
    size: F
    square: Ints

    def of(self, rows: Bools) -> Cells:
        """Return some of the cells."""
        return Cells(self.low[rows], self.size[rows], self.square[rows])

    @property
    def middle(self) -> F:
        """(C, 2)."""
        return self.low + self.size / 2

    @property
    def corners(self) -> F:
        """(C, 4, 2), one after the other around the cell."""
        turns = np.array([(0, 0), (1, 0), (1, 1), (0, 1)])
        return np.asarray(self.low[:, None] + self.size[:, None] * turns)


def squares(u: F, v: F) -> Cells:
    """Return the squares between lines at (A,) and (B,), numbered along the second first."""
    low = np.stack(np.meshgrid(u[:-1], v[:-1], indexing="ij"), -1).reshape(-1, 2)
    size = np.stack(np.meshgrid(np.diff(u), np.diff(v), indexing="ij"), -1).reshape(-1, 2)
    return Cells(low, size, np.arange(len(low)))


def cut(cells: Cells, on: Callable[[F], Bools], far: Callable[[F], F], times: float) -> Cells:
    """Cut cells in halves, across their longer side, while they are too long.

    Parameters
    ----------
    on, far
        Whether points (K, 2) are on the face, and how far they are from the nearest lamp (m).
    times
        How much longer cells of this face may be than `LONG` says.
    """
    done: list[Cells] = []
    while len(cells.low):
        probes = cells.low[:, None] + cells.size[:, None] * _PROBES
        seen = on(probes.reshape(-1, 2)).reshape(-1, len(_PROBES))
        length = cells.size.max(1)
        most = np.maximum(LONG * times * far(cells.middle), SHORT)
        most[seen.any(1) & ~seen.all(1)] = RIM
        most[~seen.any(1) & (length < 4 * RIM)] = np.inf
        long = length > most
        done.append(cells.of(~long))
        cells = _halved(cells.of(long))
    low, size, square = (np.concatenate(each) for each in zip(*done, strict=True))
    return Cells(low, size, square)


def _halved(cells: Cells) -> Cells:
    rows, longer = np.arange(len(cells.low)), cells.size.argmax(1)
    size, low = cells.size.copy(), cells.low.copy()
    size[rows, longer] /= 2
    low[rows, longer] += size[rows, longer]
    return Cells(np.concatenate([cells.low, low]), np.tile(size, (2, 1)), np.tile(cells.square, 2))


def lines(at: F, least: float, most: float) -> F:
    """Return where lines are: at corners (K,), and from ``least`` to ``most`` m apart between them.

    Corners nearer to each other than half of ``least`` have one line.
    """
    kept = [float(at[0])]
    for here in at[1:-1].tolist():
        if here - kept[-1] > least / 2 and at[-1] - here > least / 2:
            kept.append(here)
    kept.append(float(at[-1]))
    made = [a + (b - a) * _parts(b - a, least, most) for a, b in pairwise(kept)]
    return np.concatenate([kept[:1], *made])


def _parts(length: float, least: float, most: float) -> F:
    """Return where to cut a length, 0..1: narrow parts at both ends, wide ones in the middle."""
    half: list[float] = []
    step = least
    while sum(half) + step < length / 2:
        half.append(step)
        step = min(step * WIDER, most)
    left = length - 2 * sum(half)
    middle = [left] if left <= step else [left / 2, left / 2]
    widths = [*half, *middle, *half[::-1]]
    return np.asarray(np.cumsum(widths) / length)
