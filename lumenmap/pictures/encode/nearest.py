"""`Nearest`: frames to palette indices, stable over time.

Strategy: a pixel keeps its old index until that is too far from its colour. So slow fades don't
flicker between two neighbours, still parts stay still, and few pixels change.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.encode.colour_cells import Frame, Packed, packed
from lumenmap.pictures.encode.lookup import Indices, Lookup, Rows

#: Which frames are dithered: none, the first, or all.
Dither = Literal["never", "first", "always"]

#: Pixels mapped at once: there are enough rows even if each has a cell of its own.
PIECE = 1 << 16
_RGB = np.uint32(0xFFFFFF)
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
        self._given, self._dither = dither, dither != "never"
        self._indices: Indices = np.empty((0, 0), np.uint8)
        self._before: Packed | None = None

    def frame(self, frame: Frame) -> Mapped:
        """Return the palette indices of the next frame, and where they changed."""
        now: Packed = np.bitwise_and(packed(frame), _RGB)
        old = self._before is not None and self._before.shape == now.shape
        if old:
            at = np.flatnonzero(now != self._before)
        else:
            self._indices = np.empty(now.shape, np.uint8)
            at = np.arange(now.size)
        pieces = (at[first : first + PIECE] for first in range(0, len(at), PIECE))
        changed = [self._mapped(now.ravel(), piece, old=old) for piece in pieces]
        self._before, self._dither = now, self._given == "always"
        return Mapped(self._indices, np.concatenate(changed) if changed else at)

    def _mapped(self, now: Packed, at: Spots, *, old: bool) -> Spots:
        """Give some pixels new indices where they must change; return which did."""
        rows = self._lookup.rows(now.take(at))
        if old:
            moved = self._moved(rows, at)
            at, rows = at.take(moved), rows.take(moved)
        picked = self._lookup.near(rows)
        if self._dither:
            picked = self._mixed(rows, at, picked)
            if old:  # the pattern may give the old index again
                other = picked != self._indices.ravel().take(at)
                at, picked = at[other], picked[other]
        self._indices.ravel()[at] = picked
        return at

    def _moved(self, rows: Rows, at: Spots) -> Spots:
        """Return which pixels change: those much too far off, and neighbours that are too far off.

        A single pixel that changes would break a run of the compression in two.
        """
        some, much = self._lookup.far(rows, self._indices.ravel().take(at))
        spots = at.take(some)
        far_off = np.zeros(self._indices.size + 2, np.bool_)
        far_off[spots + 1] = True
        return some[far_off.take(spots) | far_off.take(spots + 2) | much]

    def _mixed(self, rows: Rows, at: Spots, near: Indices) -> Indices:
        """Return the indices of rows, some of them the second nearest by a fixed pattern."""
        second, share = self._lookup.mixed(rows)
        y, x = np.divmod(at, self._indices.shape[1])
        return np.where(share > _BAYER[y & 7, x & 7], second, near)


def _bayer() -> NDArray[np.uint8]:
    """Return the 8 × 8 ordered-dither thresholds (Bayer 1973), 2..254."""
    m = np.zeros((1, 1), int)
    for _ in range(3):
        m = np.block([[4 * m, 4 * m + 2], [4 * m + 3, 4 * m + 1]])
    return ((m + 0.5) / 64 * 255).astype(np.uint8)


_BAYER = _bayer()
