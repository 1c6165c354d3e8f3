"""`Lookup`: from 8-bit colours to the nearest colours of a palette.

Strategy: colours are looked up by cells of similar ones. Of each cell that occurs it is worked out
once where its centre is in OKLab, its nearest palette colour, and how far away another may be to be
kept. That depends on the palette alone, so one look-up serves several parts of a clip.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.encode.colour_cells import CELLS, Frame, Packed, cell, cell_lab, lab, packed
from lumenmap.pictures.inner import nearest

F32 = NDArray[np.float32]
Indices = NDArray[np.uint8]
Cells = NDArray[np.int32]

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
    palette
        (256, 4): the palette in OKLab; of four values each, so that they are fetched as one.
    slack
        (K,): how much nearer than an old colour each must be to take its place (OKLab).
    places
        (`CELLS`, 4): each cell's place in OKLab, and the squared distance up to which an old colour
        is kept; all zeros for a cell that hasn't been worked out.
    alone
        (`CELLS`,): the squared distance up to which it is kept by a single pixel.
    near
        (`CELLS`,): the nearest index.
    """

    def __init__(self, palette: Frame, hysteresis: float = HYSTERESIS) -> None:
        colours = lab(packed(palette[None])[0])
        gaps = np.linalg.norm(colours[:, None] - colours, axis=-1)
        np.fill_diagonal(gaps, np.inf)
        gap = gaps.min(1) if len(palette) > 1 else np.zeros(1)
        slack = np.minimum(hysteresis * np.sqrt(gap * np.median(gap)), VISIBLE)
        self.slack = slack.astype(np.float32)
        self.palette = np.zeros((256, 4), np.float32)
        self.palette[: len(palette), :3] = colours
        self._colours = colours
        # Memory is taken from the machine as colours occur.
        self.places = np.zeros((CELLS, 4), np.float32)
        self.alone = np.zeros(CELLS, np.float32)
        self.near = np.zeros(CELLS, np.uint8)
        self._next = np.zeros(CELLS, np.uint8)
        self._share = np.zeros(CELLS, np.uint8)
        self._mixed = np.zeros(CELLS, np.bool_)

    def learn(self, colours: Packed) -> None:
        """Work out the cells of some packed colours, each of another cell."""
        cells, here = cell(colours), cell_lab(colours)
        near, square = nearest(here, self._colours)
        best, slack = np.sqrt(square), self.slack.take(near)
        self.alone[cells] = (best + ALONE * slack) ** 2
        self.near[cells] = near
        # A palette of one colour has no slack, and a cell may lie on it: above zero all the same.
        kept = np.maximum((best + slack) ** 2, np.float32(1e-12))
        self.places[cells] = np.concatenate([here, kept[:, None]], axis=1)

    def mixed(self, cells: Cells) -> tuple[Indices, Indices]:
        """Return the second nearest index of each cell, and its share of a mixture in 1/255."""
        todo = np.unique(cells[~self._mixed.take(cells)])
        for first in range(0, len(todo), CHUNK):
            self._mix(todo[first : first + CHUNK])
        return self._next.take(cells), self._share.take(cells)

    def _mix(self, cells: Cells) -> None:
        """Find the second nearest colours of cells, and their shares in the mix."""
        here, near = self.places[cells, :3], self.near[cells]
        away = ((here[:, None] - self._colours) ** 2).sum(-1)
        away[np.arange(len(cells)), near] = np.inf
        second = away.argmin(1)
        a, b = self._colours[near], self._colours[second]
        apart = b - a
        square = (apart**2).sum(1)
        share = ((here - a) * apart).sum(1) / np.maximum(square, 1e-12)
        share = np.clip((share - SOLID) / (1 - 2 * SOLID), 0, 0.5)
        self._next[cells] = second
        self._share[cells] = np.where(square > SHOWS**2, share, 0) * 255
        self._mixed[cells] = True
