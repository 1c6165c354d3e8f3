"""`Lookup`: from 8-bit colours to the nearest colours of a palette.

Strategy: colours are looked up by cells of similar ones. Each cell that occurs gets a row: where
its centre is in OKLab, its nearest palette colour, and how far away another may be to be kept. Rows
depend on the palette alone, so one look-up serves several parts of a clip.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.encode.colour_cells import CELLS, Frame, Packed, cell, cell_lab, lab, packed

F32 = NDArray[np.float32]
Indices = NDArray[np.uint8]
Rows = NDArray[np.int32]

#: How much worse than the nearest an old colour may be, relative to the distances in the palette:
#: the geometric mean of the nearest colour's own gap and the median gap.
HYSTERESIS = 0.49
#: But at most about what the eye can tell apart (OKLab; common practice, no source).
VISIBLE = 0.02
#: A single pixel between two that stay keeps its old colour up to this many times as far.
ALONE = 2.6
#: Two colours are mixed by a pattern if they are further apart than this (OKLab), so that a contour
#: would show, and from this share of their distance on. Elsewhere the pattern itself would be the
#: larger error: our choice, from pictures looked at.
SHOWS, SOLID = 0.01, 0.25
#: Most rows.
ROWS = 1 << 18
#: Colours per step, so that their distances stay in the cache.
CHUNK = 512


class Lookup:
    """The nearest colours of a palette.

    Parameters
    ----------
    palette
        (K ≤ 255, 3) sRGB.
    hysteresis
        As `HYSTERESIS`.

    Attributes
    ----------
    places
        (K, 3): the palette in OKLab.
    slack
        (K,): how much nearer than an old colour each must be to take its place (OKLab).
    """

    def __init__(self, palette: Frame, hysteresis: float = HYSTERESIS) -> None:
        self.places = lab(packed(palette[None])[0])
        gaps = np.linalg.norm(self.places[:, None] - self.places, axis=-1)
        np.fill_diagonal(gaps, np.inf)
        gap = gaps.min(1) if len(palette) > 1 else np.zeros(1)
        slack = np.minimum(hysteresis * np.sqrt(gap * np.median(gap)), VISIBLE)
        self.slack = slack.astype(np.float32)
        # Of four values each, so that they are fetched as one.
        self._four = np.zeros((256, 4), np.float32)
        self._four[: len(palette), :3] = self.places
        self._size = (self.places**2).sum(1)
        self._twice = -2 * self.places.T
        self._forget()

    def _forget(self) -> None:
        # By exact colour too: one look-up instead of four. Memory is allocated as colours occur.
        self._row_of_colour = np.zeros(1 << 24, np.int32)
        self._row_of_cell = np.zeros(CELLS, np.int32)
        self._rows = 1  # 0 means "no row yet"
        # Place in OKLab, and the squared distance up to which an old colour is kept.
        self._places = np.empty((ROWS, 4), np.float32)
        self._alone = np.empty(ROWS, np.float32)
        self._near = np.empty(ROWS, np.uint8)
        self._next = np.empty(ROWS, np.uint8)
        self._share = np.empty(ROWS, np.uint8)
        self._mixed = np.zeros(ROWS, np.bool_)

    def rows(self, colours: Packed) -> Rows:
        """Return the rows of packed colours; they are valid until the next call."""
        rows = self._row_of_colour.take(colours)
        if rows.all():
            return rows
        new = colours[rows == 0]
        cells = cell(new)
        fresh = cells[self._row_of_cell.take(cells) == 0]
        number = np.arange(len(fresh), dtype=np.int32)
        self._row_of_cell[fresh] = number  # of equal ones the last stays: each is picked once
        fresh = fresh[self._row_of_cell.take(fresh) == number]
        if self._rows + len(fresh) > ROWS:
            self._forget()
            return self.rows(colours)
        for first in range(0, len(fresh), CHUNK):
            self._add(fresh[first : first + CHUNK])
        self._row_of_colour[new] = self._row_of_cell.take(cells)
        return self._row_of_colour.take(colours)

    def near(self, rows: Rows) -> Indices:
        """Return the index nearest to each row."""
        return self._near.take(rows)

    def far(self, rows: Rows, old: Indices) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        """Return which rows are too far from their old indices, and which of them much too far."""
        here = self._places.take(rows, axis=0)
        away = here - self._four.take(old, axis=0)
        away *= away
        square = away[:, 0] + away[:, 1]
        square += away[:, 2]
        some = np.flatnonzero(square > here[:, 3])
        return some, square.take(some) > self._alone.take(rows.take(some))

    def mixed(self, rows: Rows) -> tuple[Indices, Indices]:
        """Return the second nearest index of each row, and its share of a mixture in 1/255."""
        new = np.zeros(self._rows, np.bool_)
        new[rows] = True
        new &= ~self._mixed[: self._rows]
        todo = np.flatnonzero(new)
        for first in range(0, len(todo), CHUNK):
            self._mix(todo[first : first + CHUNK])
        return self._next.take(rows), self._share.take(rows)

    def _add(self, cells: Packed) -> None:
        """Add rows for new cells."""
        rows = slice(self._rows, self._rows + len(cells))
        here = cell_lab(cells)
        away = self._away(here)
        near = away.argmin(1)
        best = np.sqrt(np.maximum(away[np.arange(len(here)), near] + (here**2).sum(1), 0))
        self._places[rows, :3] = here
        self._places[rows, 3] = (best + self.slack[near]) ** 2
        self._alone[rows] = (best + ALONE * self.slack[near]) ** 2
        self._near[rows] = near
        self._row_of_cell[cells] = np.arange(rows.start, rows.stop)
        self._rows = rows.stop

    def _away(self, here: F32) -> F32:
        """Return (K, palette) squared distances, minus a term that is the same for a row."""
        away: F32 = here @ self._twice
        away += self._size
        return away

    def _mix(self, rows: NDArray[np.intp]) -> None:
        """Find the second nearest colours of rows, and their shares in the mix."""
        here, near = self._places[rows, :3], self._near[rows]
        away = self._away(here)
        away[np.arange(len(rows)), near] = np.inf
        second = away.argmin(1)
        a, b = self.places[near], self.places[second]
        apart = b - a
        square = (apart**2).sum(1)
        share = ((here - a) * apart).sum(1) / np.maximum(square, 1e-12)
        share = np.clip((share - SOLID) / (1 - 2 * SOLID), 0, 0.5)
        self._next[rows] = second
        self._share[rows] = np.where(square > SHOWS**2, share, 0) * 255
        self._mixed[rows] = True
