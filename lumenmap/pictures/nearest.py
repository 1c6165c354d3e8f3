"""`Nearest`: frames to places in a palette, calm in time.

Strategy: the nearest place of each exact colour is looked up once. Each cell of like colours gets
a row that says which places are too far from it; a picture element keeps its old place until it
is. So slow fades don't flicker between two neighbours, still parts stay still, and few elements
change.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.colour_cells import CELLS, Frame, Packed, cell, cell_lab, lab, packed

Places = NDArray[np.uint8]

#: How much worse than the nearest an old colour may be, as a part of how far palette colours lie
#: apart: the geometric mean of that nearest one's own gap and the palette's median gap.
CALM = 0.56
#: But never more than about what the eye tells apart side by side (OKLab; common practice, no
#: source).
SEEN = 0.02
#: A single element between two that stay keeps its old colour while it is this much worse again.
ALONE = 2.4
#: Rows kept at once: 32 MB.
ROWS = 1 << 17
#: Colours worked on at once, so that their distances stay in the cache.
CHUNK = 512
#: Stands for a colour not yet looked up; so a palette has at most 255 places.
UNKNOWN = 255


class Nearest:
    """Maps the frames of one clip in order.

    Parameters
    ----------
    palette
        (K ≤ 255, 3) sRGB.
    dither
        Mix two neighbours by a fixed pattern where the colour lies between; it stands still where
        the picture does.
    """

    def __init__(self, palette: Frame, *, dither: bool = False, calm: float = CALM) -> None:
        self._palette = lab(packed(palette[None])[0])
        gaps = np.linalg.norm(self._palette[:, None] - self._palette, axis=-1)
        np.fill_diagonal(gaps, np.inf)
        gap = gaps.min(1) if len(palette) > 1 else np.zeros(1)
        self._slack = np.minimum(calm * np.sqrt(gap * np.median(gap)), SEEN)
        self._dither = dither
        self._size = (self._palette**2).sum(1)
        self._twice = -2 * self._palette.T
        self._near = np.full(1 << 24, UNKNOWN, np.uint8)
        self._next = np.zeros(1 << 24, np.uint8) if dither else self._near
        self._part = np.zeros(1 << 24, np.uint8) if dither else self._near
        self._before: Packed | None = None
        self._places: Places = np.zeros((0, 0), np.uint8)
        self._forget()

    def _forget(self) -> None:
        self._row = np.zeros(CELLS, np.int32)
        self._rows = 1  # 0 stands for "no row yet"
        self._far = np.zeros((ROWS, 256), np.uint8)
        self._far[0] = 2  # so what has no row is looked up anew

    def frame(self, frame: Frame) -> Places:
        """Return the (H, W) places of the next frame; it is not to be written to."""
        now: Packed = np.bitwise_and(packed(frame), np.uint32(0xFFFFFF))
        if self._before is None or self._before.shape != now.shape:
            at = np.arange(now.size)
            self._places = self._nearest(now.ravel(), at, now.shape).reshape(now.shape)
        else:
            changed = np.flatnonzero(now != self._before)
            if len(changed):
                colours = now.ravel()[changed]
                off = self._off(colours, self._places.ravel()[changed])
                moved = _worth(off, changed, now.size)
                places = self._places.copy()
                at = changed[moved]
                places.ravel()[at] = self._nearest(colours[moved], at, now.shape)
                self._places = places
        self._before = now
        return self._places

    def _nearest(self, colours: Packed, at: NDArray[np.intp], shape: tuple[int, ...]) -> Places:
        """Return the nearest palette colour of each exact colour."""
        found = self._near[colours]
        missing = np.flatnonzero(found == UNKNOWN)
        if len(missing):
            self._learn(colours[missing])
            found = self._near[colours]
        if not self._dither:
            return found
        y, x = np.divmod(at, shape[1])
        other = self._part[colours] > _BAYER[y & 7, x & 7]
        return np.where(other, self._next[colours], found)

    def _learn(self, colours: Packed) -> None:
        new = np.unique(colours)
        for first in range(0, len(new), CHUNK):
            part = new[first : first + CHUNK]
            here = lab(part)
            distance = here @ self._twice
            distance += self._size  # less what is the same for all places
            near = distance.argmin(1)
            self._near[part] = near
            if self._dither:
                self._between(part, here, distance, near)

    def _off(self, colours: Packed, old: Places) -> Places:
        """Return how far off the old places have become: 0 little, 1 too far, 2 much too far."""
        cells = cell(colours)
        rows = self._row[cells]
        if not rows.all():
            self._add(np.unique(cells[rows == 0]))
            rows = self._row[cells]
        far: Places = self._far.ravel()[(rows << 8) + old]
        return far

    def _add(self, cells: Packed) -> None:
        """Note for new cells which palette colours are too far from their middles."""
        if self._rows + len(cells) > ROWS:
            self._forget()
        cells = cells[: ROWS - 1]  # more than that at once is noise; the rest counts as moved
        for first in range(0, len(cells), CHUNK):
            part = cells[first : first + CHUNK]
            here = cell_lab(part)
            square = here @ self._twice
            square += self._size
            square += (here**2).sum(1)[:, None]
            near = square.argmin(1)
            best = np.sqrt(np.maximum(square[np.arange(len(part)), near], 0))
            rows = np.arange(self._rows, self._rows + len(part))
            far = np.zeros(square.shape, np.uint8)
            for slack in (self._slack[near], ALONE * self._slack[near]):
                far += square > ((best + slack) ** 2)[:, None]
            self._far[rows, : len(self._palette)] = far
            self._row[part] = rows
            self._rows += len(part)

    def _between(
        self, colours: Packed, here: NDArray[np.float32],
        distance: NDArray[np.float32], near: NDArray[np.intp],
    ) -> None:  # fmt: skip
        """Find for each colour the second to mix with, and how much of it."""
        distance[np.arange(len(here)), near] = np.inf
        second = distance.argmin(1)
        a, b = self._palette[near], self._palette[second]
        way = b - a
        part = ((here - a) * way).sum(1) / np.maximum((way**2).sum(1), 1e-12)
        self._next[colours] = second
        self._part[colours] = np.clip(part, 0, 0.5) * 255


def _worth(off: Places, at: NDArray[np.intp], size: int) -> NDArray[np.intp]:
    """Return which elements move: those much too far off, and those too far off with a neighbour.

    A single element that changes breaks a run of the compression in two.
    """
    there = np.zeros(size + 2, bool)
    there[at[off > 0] + 1] = True
    together = there[at] | there[at + 2]
    return np.flatnonzero(off > np.where(together, 0, 1))


def _bayer() -> NDArray[np.uint8]:
    """Return the 8 × 8 ordered-dither thresholds (Bayer 1973), 2..254."""
    m = np.zeros((1, 1), int)
    for _ in range(3):
        m = np.block([[4 * m, 4 * m + 2], [4 * m + 3, 4 * m + 1]])
    return ((m + 0.5) / 64 * 255).astype(np.uint8)


_BAYER = _bayer()
