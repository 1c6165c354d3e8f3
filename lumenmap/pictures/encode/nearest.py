"""`Nearest`: frames to palette indices, stable over time.

Strategy: a pixel keeps its old index until that is too far from its colour. So slow fades don't
flicker between two neighbours, still parts stay still, and few pixels change.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.encode.colour_cells import Frame, Packed, cell, packed
from lumenmap.pictures.encode.lookup import Cells, Indices, Lookup
from lumenmap.pictures.inner import Changes, learn

#: Which frames are dithered: none, the first, or all.
Dither = Literal["never", "first", "always"]

Spots = NDArray[np.intp]


class Mapped(NamedTuple):
    """Palette indices (H, W) of a frame, valid until the next, and where they changed (K,)."""

    indices: Indices
    changed: Spots


class Nearest:
    """Maps the frames of one clip in order.

    Parameters
    ----------
    palette
        (K ≤ 255, 3) sRGB, or its look-up, which several clips may share.
    dither
        Ordered dithering, which mixes the two nearest colours by a fixed pattern. Of the first
        frame alone: what stays still afterwards has no contours, at next to no cost in bytes, and
        what changes is mapped to the nearest.
    """

    def __init__(self, palette: Frame | Lookup, *, dither: Dither = "never") -> None:
        self._lookup = palette if isinstance(palette, Lookup) else Lookup(palette)
        self._dither = dither
        self._indices: Indices = np.empty((0, 0), np.uint8)
        self._before: Packed = np.empty((0, 0), np.uint32)
        self._changes = Changes(0)

    def frame(self, frame: Frame) -> Mapped:
        """Return the palette indices of the next frame, and where they changed.

        The frame itself mustn't change before the next was mapped.
        """
        now = packed(frame)
        known = now.shape == self._before.shape
        changed = self._next(now.ravel()) if known else self._first(now)
        self._before = now
        return Mapped(self._indices, changed)

    def _first(self, now: Packed) -> Spots:
        """Give every pixel an index."""
        self._indices = np.empty(now.shape, np.uint8)
        self._changes = Changes(now.size)
        spots, colours = np.arange(now.size), now.ravel()
        learn(self._lookup.table, colours)
        cells = cell(colours)
        picked = self._lookup.table.near.take(cells)
        if self._dither != "never":
            picked = self._patterned(cells, spots, picked)
        self._indices.ravel()[:] = picked
        return spots

    def _next(self, now: Packed) -> Spots:
        """Give those pixels new indices whose old ones are too far off; return which.

        A single pixel that changes would break a run of the compression in two: it changes when it
        is much too far off.
        """
        indices, before = self._indices.ravel(), self._before.ravel()
        old = indices.copy() if self._dither == "always" else indices
        spots = self._changes.moved(self._lookup.table, before, now, indices)
        if self._dither != "always":
            return spots
        picked = self._patterned(cell(now.take(spots)), spots, indices.take(spots))
        indices[spots] = picked
        other: Spots = spots[picked != old.take(spots)]  # the pattern may give the old one again
        return other

    def _patterned(self, cells: Cells, at: Spots, near: Indices) -> Indices:
        """Return the indices of cells, some of them the second nearest by a fixed pattern."""
        second, share = self._lookup.mixed(cells)
        y, x = np.divmod(at, self._indices.shape[1])
        return np.where(share > _BAYER[y & 7, x & 7], second, near)


def _bayer() -> NDArray[np.uint8]:
    """Return the 8 × 8 ordered-dither thresholds (Bayer 1973), 2..254."""
    m = np.zeros((1, 1), int)
    for _ in range(3):
        m = np.block([[4 * m, 4 * m + 2], [4 * m + 3, 4 * m + 1]])
    return ((m + 0.5) / 64 * 255).astype(np.uint8)


_BAYER = _bayer()
