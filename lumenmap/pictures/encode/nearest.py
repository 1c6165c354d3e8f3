"""`Nearest`: frames to palette indices, stable over time.

Strategy: colours are looked up by cells of similar ones. Each cell that occurs gets a row: the
nearest palette colour, and which ones are too far away. A pixel keeps its old index until that is
too far. So slow fades don't flicker between two neighbours, still parts stay still, and few pixels
change.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.encode.colour_cells import CELLS, Frame, Packed, cell, cell_lab, lab, packed

Indices = NDArray[np.uint8]
Rows = NDArray[np.int32]
Spots = NDArray[np.intp]
#: Which frames are dithered: none, the first, or all.
Dither = Literal["never", "first", "always"]

#: How much worse than the nearest an old colour may be, relative to the distances in the palette:
#: the geometric mean of the nearest colour's own gap and the median gap.
HYSTERESIS = 0.47
#: But at most about what the eye can tell apart (OKLab; common practice, no source).
VISIBLE = 0.02
#: A single pixel between two that stay keeps its old colour up to this many times as far.
ALONE = 2.6
#: Two colours are mixed by a pattern if they are further apart than this (OKLab), so that a contour
#: would show, and from this share of their distance on. Elsewhere the pattern itself would be the
#: larger error: our choice, from pictures looked at.
SHOWS, SOLID = 0.01, 0.25
#: Most rows: 64 MB, allocated as cells occur.
ROWS = 1 << 18
#: Colours per step, so that their distances stay in the cache.
CHUNK = 512
#: Pixels mapped at once: there are enough rows even if each has a cell of its own.
PIECE = 1 << 16


class Nearest:
    """Maps the frames of one clip in order.

    Parameters
    ----------
    palette
        (K ≤ 255, 3) sRGB.
    dither
        Ordered dithering, which mixes the two nearest colours by a fixed pattern. Of the first
        frame alone: what stays still afterwards has no contours, at next to no cost in bytes, and
        what changes is mapped to the nearest.
    """

    def __init__(
        self, palette: Frame, *, dither: Dither = "never", hysteresis: float = HYSTERESIS
    ) -> None:
        self._palette = lab(packed(palette[None])[0])
        gaps = np.linalg.norm(self._palette[:, None] - self._palette, axis=-1)
        np.fill_diagonal(gaps, np.inf)
        gap = gaps.min(1) if len(palette) > 1 else np.zeros(1)
        self._slack = np.minimum(hysteresis * np.sqrt(gap * np.median(gap)), VISIBLE).astype(
            np.float32
        )
        self._given, self._dither = dither, dither == "always"
        self._size = (self._palette**2).sum(1)
        self._twice = -2 * self._palette.T
        self._before: Packed | None = None
        self._indices: Indices = np.empty((0, 0), np.uint8)
        self._forget()

    def _forget(self) -> None:
        # By exact colour too: one look-up instead of four. Memory is allocated as colours occur.
        self._row_of_colour = np.zeros(1 << 24, np.int32)
        self._row_of_cell = np.zeros(CELLS, np.int32)
        self._rows = 1  # 0 means "no row yet"
        self._far = np.zeros((ROWS, 256), np.uint8)
        self._near = np.zeros(ROWS, np.uint8)
        self._next = np.zeros(ROWS, np.uint8)
        self._part = np.zeros(ROWS, np.uint8)

    def frame(self, frame: Frame) -> Indices:
        """Return the (H, W) palette indices of the next frame; don't write to the result."""
        now: Packed = np.bitwise_and(packed(frame), np.uint32(0xFFFFFF))
        if self._before is None or self._before.shape != now.shape:
            old, changed = None, np.arange(now.size)
            self._dither = self._given != "never"
            indices = np.empty(now.shape, np.uint8)
        else:
            old, changed = self._indices, np.flatnonzero(now != self._before)
            indices = old.copy()
        for first in range(0, len(changed), PIECE):
            at = changed[first : first + PIECE]
            rows = self._rows_of(now.ravel().take(at))
            if old is not None:
                moved = self._moved(rows, at, old)
                at, rows = at.take(moved), rows.take(moved)
            indices.ravel()[at] = self._nearest(rows, at, now.shape[1])
        self._before, self._indices, self._dither = now, indices, self._given == "always"
        return indices

    def _moved(self, rows: Rows, at: Spots, old: Indices) -> Spots:
        """Return which pixels change: those much too far off, and neighbours that are too far off.

        A single pixel that changes would break a run of the compression in two.
        """
        far = self._far.ravel().take((rows.astype(np.intp) << 8) + old.ravel().take(at))
        some = np.flatnonzero(far)
        spots = at.take(some)
        far_off = np.zeros(old.size + 2, bool)
        far_off[spots + 1] = True
        together = far_off.take(spots) | far_off.take(spots + 2)
        return some[together | (far.take(some) > 1)]

    def _nearest(self, rows: Rows, at: Spots, width: int) -> Indices:
        """Return the palette indices of rows, dithered with the second nearest if asked for."""
        near = self._near.take(rows)
        if not self._dither:
            return near
        y, x = np.divmod(at, width)
        return np.where(self._part.take(rows) > _BAYER[y & 7, x & 7], self._next.take(rows), near)

    def _rows_of(self, colours: Packed) -> Rows:
        """Return the row of each colour's cell; new colours and cells get one."""
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
            return self._rows_of(colours)
        self._add(fresh)
        self._row_of_colour[new] = self._row_of_cell.take(cells)
        return self._row_of_colour.take(colours)

    def _add(self, cells: Packed) -> None:
        """Add rows for new cells: the colour nearest to their centres, and those too far."""
        for first in range(0, len(cells), CHUNK):
            part = cells[first : first + CHUNK]
            rows = slice(self._rows, self._rows + len(part))
            here = cell_lab(part)
            away = here @ self._twice
            away += self._size  # squared distances, minus a term that is the same for all colours
            near = away.argmin(1)
            same = (here**2).sum(1)
            best = np.sqrt(np.maximum(away[np.arange(len(part)), near] + same, 0))
            far = self._far[rows, : len(self._palette)]
            for slack in (self._slack[near], ALONE * self._slack[near]):
                far += away > ((best + slack) ** 2 - same)[:, None]
            self._near[rows] = near
            if self._dither:
                self._between(rows, here, away, near)
            self._row_of_cell[part] = np.arange(rows.start, rows.stop)
            self._rows = rows.stop

    def _between(
        self,
        rows: slice,
        here: NDArray[np.float32],
        away: NDArray[np.float32],
        near: Spots,
    ) -> None:
        """Store the second nearest colour of each row, and its share in the mix."""
        away[np.arange(len(here)), near] = np.inf
        second = away.argmin(1)
        a, b = self._palette[near], self._palette[second]
        apart = b - a
        square = (apart**2).sum(1)
        part = ((here - a) * apart).sum(1) / np.maximum(square, 1e-12)
        part = np.clip((part - SOLID) / (1 - 2 * SOLID), 0, 0.5)
        self._next[rows] = second
        self._part[rows] = np.where(square > SHOWS**2, part, 0) * 255


def _bayer() -> NDArray[np.uint8]:
    """Return the 8 × 8 ordered-dither thresholds (Bayer 1973), 2..254."""
    m = np.zeros((1, 1), int)
    for _ in range(3):
        m = np.block([[4 * m, 4 * m + 2], [4 * m + 3, 4 * m + 1]])
    return ((m + 0.5) / 64 * 255).astype(np.uint8)


_BAYER = _bayer()
