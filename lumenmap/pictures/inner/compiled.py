"""The innermost loops in C: arrays are made here, filled by `loops.c`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import _loops
from lumenmap.pictures.inner.cells import CellTable
from lumenmap.pictures.inner.rows import SparseRows

F32 = NDArray[np.float32]
U8 = NDArray[np.uint8]
Packed = NDArray[np.uint32]
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
    BLOCK = 16

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
        self._flags = np.empty(pixels + 2, np.uint8)
        self._spots = np.empty(pixels, np.intp)

    def moved(self, table: CellTable, before: Packed, now: Packed, indices: U8) -> Spots:
        """Give those pixels new ``indices`` that are too far from their old ones; return which.

        They are those much too far off, and neighbours that are too far off, in ascending order.

        Parameters
        ----------
        table
            Cells that occur and aren't known yet are added to it.
        before, now
            (H·W,) packed colours; the highest byte doesn't count.
        indices
            (H·W,): what ``before`` was mapped to.
        """
        count = _loops.moved(table, before, now, indices, self._flags, self._spots)
        return self._spots[:count].copy()


def learn(table: CellTable, colours: Packed) -> None:
    """Work out the cells of some packed colours that aren't known yet."""
    _loops.learn(table, np.ascontiguousarray(colours))


def nearest(here: F32, places: F32) -> U8:
    """Return (K,) which of up to 256 places (P, 3) is the nearest to each of (K, 3)."""
    near = np.empty(len(here), np.uint8)
    given = np.ascontiguousarray(here, np.float32), np.ascontiguousarray(places.T, np.float32)
    _loops.nearest(*given, near)
    return near


def image(indices: U8, same: int, spots: Spots | None = None) -> bytes:
    """Return palette indices (H, W) as an image of a GIF.

    Parameters
    ----------
    same
        The index that means "unchanged".
    spots
        (K,) ascending: where something changed; only the box around them is written, and what
        didn't change in it as ``same``. None for the whole.
    """
    at = np.empty(0, np.intp) if spots is None else spots
    return _loops.image(np.ascontiguousarray(indices), at, indices.shape[1], same)
