"""`Nearest`: frames to palette indices, stable over time.

Strategy: a pixel keeps its old index until that is too far from its colour. So slow fades don't
flicker between two neighbours, still parts stay still, and few pixels change.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.encode.colour_cells import Frame, Packed, cell, packed
from lumenmap.pictures.encode.gif_format import SAME
from lumenmap.pictures.encode.lookup import MIXING, Indices, Lookup
from lumenmap.pictures.inner import learn, moved

#: Which frames are dithered: none, the first, or all.
Dither = Literal["never", "first", "always"]
Boxes = NDArray[np.int32]


class Mapped(NamedTuple):
    """Frames as indices of a palette (T, H, W): those that changed, `SAME` elsewhere.

    ``boxes`` (T, 4) are left, top, width and height of what changed; zeros if nothing did.
    """

    changes: Indices
    boxes: Boxes


def changed(before: Indices, now: Indices) -> Mapped:
    """Return what changed from one frame's indices (H, W) to another's."""
    differ = before != now
    rows, columns = (np.flatnonzero(differ.any(axis)) for axis in (1, 0))
    box = np.zeros(4, np.int32)
    if len(rows):
        box[:] = columns[0], rows[0], columns[-1] + 1 - columns[0], rows[-1] + 1 - rows[0]
    return Mapped(np.where(differ, now, np.uint8(SAME))[None], box[None])


def joined(parts: Sequence[Mapped]) -> Mapped:
    """Return parts that follow each other, at least one, as one."""
    if len(parts) == 1:
        return parts[0]
    changes, boxes = zip(*parts, strict=True)
    return Mapped(np.concatenate(changes), np.concatenate(boxes))


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

    Attributes
    ----------
    indices
        (H, W): those of the last frame.
    """

    def __init__(self, palette: Frame, *, dither: Dither = "never") -> None:
        self._lookup = Lookup(palette)
        self._dither = dither
        self.indices: Indices = np.empty((0, 0), np.uint8)
        self._before: Packed = np.empty((0, 0), np.uint32)
        self._pattern: Indices = np.empty((0, 0), np.uint8)

    def frames(self, frames: Frame) -> Mapped:
        """Map the next frames (T, H, W, 3), at least one; the first of all changes everything."""
        now = packed(frames)
        parts = []
        if not self.indices.size:
            parts.append(self._first(now[0]))
            now = now[1:]
        if self._dither == "always":
            parts += [self._again(frame) for frame in now]
        elif len(now):
            # A single pixel that changes would break a run of the compression in two: it changes
            # when it is much too far off.
            found = moved(self._lookup.table, self._before, now, self.indices, SAME)
            parts.append(Mapped(*found))
            self._before = now[-1].copy()
        return joined(parts)

    def _first(self, now: Packed) -> Mapped:
        """Give every pixel an index."""
        height, width = now.shape
        if self._dither == "never":
            learn(self._lookup.table, now)
            self.indices = self._lookup.table.near.take(cell(now))
        else:
            self._pattern = np.tile(_BAYER, (height // 8 + 1, width // 8 + 1))[:height, :width]
            self.indices = self._patterned(now, self._pattern)
        self._before = now.copy()
        return Mapped(self.indices[None].copy(), np.array([[0, 0, width, height]], np.int32))

    def _again(self, now: Packed) -> Mapped:
        """Give those pixels whose indices are too far off others, by the pattern."""
        before = self.indices.copy()
        found = moved(self._lookup.table, self._before, now[None], self.indices, SAME).changes[0]
        spots = np.nonzero(found != SAME)
        self.indices[spots] = self._patterned(now[spots], self._pattern[spots])
        self._before = now.copy()
        return changed(before, self.indices)  # the pattern may have given the old index again

    def _patterned(self, colours: Packed, pattern: Indices) -> Indices:
        """Return the nearest indices of colours, the second nearest where the pattern says so."""
        table = self._lookup.table
        learn(table, colours, MIXING)
        cells = cell(colours)
        return np.where(
            table.share.take(cells) > pattern, table.second.take(cells), table.near.take(cells)
        )


def _bayer() -> NDArray[np.uint8]:
    """Return the 8 × 8 ordered-dither thresholds (Bayer 1973), 2..254."""
    m = np.zeros((1, 1), int)
    for _ in range(3):
        m = np.block([[4 * m, 4 * m + 2], [4 * m + 3, 4 * m + 1]])
    return ((m + 0.5) / 64 * 255).astype(np.uint8)


_BAYER = _bayer()
