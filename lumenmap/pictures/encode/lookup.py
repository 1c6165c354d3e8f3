"""`Lookup`: from 8-bit colours to the nearest colours of a palette.

Strategy: colours are looked up by cells of similar ones. Of each cell that occurs it is worked out
once where its centre is in OKLab, its nearest palette colour, and how far away another may be to be
kept. That depends on the palette alone, so one look-up serves several parts of a clip.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.oklab import TO_LAB, TO_LMS
from lumenmap.pictures.encode.colour_cells import CELLS, MIDDLE, SPREAD, Frame, lab, packed
from lumenmap.pictures.inner import CellTable

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
    table
        What is known of cells, and of the palette.
    """

    def __init__(self, palette: Frame, hysteresis: float = HYSTERESIS) -> None:
        colours = lab(packed(palette[None])[0])
        gaps = np.linalg.norm(colours[:, None] - colours, axis=-1)
        np.fill_diagonal(gaps, np.inf)
        gap = gaps.min(1) if len(palette) > 1 else np.zeros(1)
        slack = np.minimum(hysteresis * np.sqrt(gap * np.median(gap)), VISIBLE)
        four = np.zeros((256, 4), np.float32)
        four[: len(palette), :3] = colours
        # Memory is taken from the machine as colours occur.
        self.table = CellTable(
            SPREAD,
            MIDDLE,
            np.array(TO_LMS),
            np.array(TO_LAB),
            np.ascontiguousarray(colours.T),
            four,
            slack.astype(np.float32),
            (ALONE * slack).astype(np.float32),
            places=np.zeros((CELLS, 4), np.float32),
            alone=np.zeros(CELLS, np.float32),
            near=np.zeros(CELLS, np.uint8),
        )
        self._colours = colours
        self._next = np.zeros(CELLS, np.uint8)
        self._share = np.zeros(CELLS, np.uint8)
        self._mixed = np.zeros(CELLS, np.bool_)

    def mixed(self, cells: Cells) -> tuple[Indices, Indices]:
        """Return the second nearest index of each cell, and its share of a mixture in 1/255."""
        todo = np.unique(cells[~self._mixed.take(cells)])
        for first in range(0, len(todo), CHUNK):
            self._mix(todo[first : first + CHUNK])
        return self._next.take(cells), self._share.take(cells)

    def _mix(self, cells: Cells) -> None:
        """Find the second nearest colours of cells, and their shares in the mix."""
        here, near = self.table.places[cells, :3], self.table.near[cells]
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
