"""The innermost loops in C: arrays are made here, filled by `loops.c`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import _loops
from lumenmap.pictures.inner.rows import SparseRows

F32 = NDArray[np.float32]
U8 = NDArray[np.uint8]
Packed = NDArray[np.uint32]
Cells = NDArray[np.int32]
Spots = NDArray[np.intp]


class Painter:
    """Pictures of lamps and what they light.

    Parameters
    ----------
    mix, images
        (H·W, P), (H·W, N): how the light of mesh nodes and lamps gets into pixels of the picture.
    base
        (H·W, 3): light without lamps.
    touched
        (A,): pixels of the picture that lamps can change.
    scale
        Steps of the tone table per unit of light.
    table
        (65536,): the tone table.

    Raises
    ------
    ValueError
        A matrix or a touched pixel that points outside.
    """

    #: Frames painted at once: as many as the loop has room for.
    BLOCK = 8

    def __init__(
        self,
        mix: SparseRows,
        images: SparseRows,
        base: F32,
        touched: Spots,
        scale: np.float32,
        table: U8,
    ) -> None:
        for rows in (mix, images):
            rows.check(len(base))
        if len(touched) and not 0 <= touched.min() <= touched.max() < len(base):
            raise ValueError("touched: a pixel outside the picture")
        self._matrices = tuple(
            (
                np.ascontiguousarray(rows.data, np.float32),
                np.ascontiguousarray(rows.indices, np.int32),
                np.ascontiguousarray(rows.indptr, np.int64),
            )
            for rows in (mix, images)
        )
        self._sizes = mix.columns, images.columns
        self._base = np.ascontiguousarray(base, np.float32)
        self._touched = np.ascontiguousarray(touched, np.intp)
        self._table, self._scale = table, float(scale)

    def paint(self, nodes: F32, lamps: F32, out: Packed) -> None:
        """Paint t ≤ `BLOCK` frames into ``out`` (t, H·W), where lamps can change them.

        Parameters
        ----------
        nodes, lamps
            (P, t · 3), (N, t · 3): light, the channels of a frame next to each other.
        """
        self._paint(self._touched, nodes, lamps, out)

    def unlit(self) -> Packed:
        """Return (H·W,) the picture without lamps."""
        out = np.empty((1, len(self._base)), np.uint32)
        nodes, lamps = (np.zeros((size, 3), np.float32) for size in self._sizes)
        self._paint(np.arange(len(self._base)), nodes, lamps, out)
        return out.ravel()

    def _paint(self, touched: Spots, nodes: F32, lamps: F32, out: Packed) -> None:
        mix, images = self._matrices
        light = [np.ascontiguousarray(each, np.float32) for each in (nodes, lamps)]
        if tuple(map(len, light)) != self._sizes or light[0].shape[1:] != light[1].shape[1:]:
            raise ValueError(f"nodes and lamps: expected {self._sizes} rows, of equal widths")
        _loops.paint(
            *(*mix, light[0]), *(*images, light[1]), self._base, touched, self._table, out,
            self._scale, light[0].shape[1],
        )  # fmt: skip


class Changes:
    """What changes from picture to picture, of ``pixels`` each."""

    def __init__(self, pixels: int) -> None:
        self._spots = np.empty(pixels, np.intp)
        self._cells = np.empty(pixels, np.int32)
        self._unknown = np.empty(pixels, np.intp)
        self._flags = np.zeros(pixels + 2, np.uint8)

    def between(
        self, before: Packed, now: Packed, spread: Packed, places: F32
    ) -> tuple[Spots, Cells, Spots]:
        """Return (K,) where two pictures differ, their cells now, and where cells are unknown.

        Of the spots with an unknown cell one is returned, once: it is to be learned at once. All
        are valid until the next call.

        Parameters
        ----------
        before, now
            (H·W,) packed colours; the highest byte doesn't count.
        spread
            (3, 256): `colour_cells.SPREAD`.
        places
            (`CELLS`, 4): as of `Lookup`.
        """
        count, unknown = _loops.between(
            before, now, spread, places, self._spots, self._cells, self._unknown
        )
        return self._spots[:count], self._cells[:count], self._unknown[:unknown]

    def moved(
        self,
        spots: Spots,
        cells: Cells,
        indices: U8,
        near: U8,
        places: F32,
        alone: F32,
        palette: F32,
    ) -> Spots:
        """Give those spots new ``indices`` that are too far from their old ones; return which.

        They are those much too far off, and neighbours that are too far off.

        Parameters
        ----------
        spots, cells
            (K,): as of `between`.
        near, places, alone, palette
            As of `Lookup`.
        """
        count = _loops.moved(spots, cells, indices, near, places, alone, palette, self._flags)
        return spots[:count].copy()


def nearest(here: F32, palette: F32) -> tuple[U8, F32]:
    """Return (K,) the nearest of a palette (≤ 256, 3) to (K, 3) places, and how far squared."""
    near, square = np.empty(len(here), np.uint8), np.empty(len(here), np.float32)
    _loops.nearest(
        np.ascontiguousarray(here, np.float32),
        np.ascontiguousarray(palette.T, np.float32),
        near,
        square,
    )
    return near, square


def lzw(part: U8, corner: tuple[int, int]) -> bytes:
    """Return palette indices (h, w) as an image of a GIF, with its left upper corner (x, y)."""
    return _loops.lzw(np.ascontiguousarray(part), *corner, part.shape[1])
