"""The innermost loops in C: arrays are made here, filled by `loops.c`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import _loops
from lumenmap.pictures.inner.cells import Box, CellTable, Mixing, Moved
from lumenmap.pictures.inner.rows import SparseRows

F32 = NDArray[np.float32]
U8 = NDArray[np.uint8]
Packed = NDArray[np.uint32]
Spots = NDArray[np.intp]


#: Frames at once, and values of a column for so many: as many as the loops have room for.
BLOCK, _WIDTHS = 16, (8, 24, 48)


class Nodes:
    """The light of mesh nodes, from that of groups of lamps.

    Parameters
    ----------
    wash
        (P, G): how the light of groups gets to nodes.
    colours
        (P, 3): by which it is multiplied there.

    Raises
    ------
    ValueError
        A matrix of another size, or an entry that points outside.
    """

    def __init__(self, wash: SparseRows, colours: F32) -> None:
        wash.check(len(colours))
        self._matrix, self._groups = _opened(wash), wash.columns
        self._colours = np.ascontiguousarray(colours, np.float32)

    def lit(self, groups: F32) -> F32:
        """Return (P, t · 3) the light of nodes for that of groups (G, t · 3), t ≤ `BLOCK`."""
        if groups.shape[0] != self._groups:
            raise ValueError(f"groups: expected an array of {self._groups} rows")
        light = _widened(groups)
        out = np.empty((len(self._colours), light.shape[1]), np.float32)
        _loops.product(*self._matrix, light, self._colours, out, light.shape[1])
        return out[:, : groups.shape[1]]


def product(matrix: SparseRows, values: F32) -> F32:
    """Return (R, K) the product of a matrix (R, C) and values (C, K).

    Raises
    ------
    ValueError
        Values of another number of rows, or an entry that points outside.
    """
    matrix.check(matrix.rows)
    if len(values) != matrix.columns:
        raise ValueError(f"values: expected an array of {matrix.columns} rows")
    opened, most = _opened(matrix), max(_WIDTHS)
    out = np.empty((matrix.rows, values.shape[1]), np.float32)
    for first in range(0, values.shape[1], most):
        some = _widened(values[:, first : first + most])
        made = np.empty((matrix.rows, some.shape[1]), np.float32)
        _loops.product(*opened, some, np.empty(0, np.float32), made, some.shape[1])
        out[:, first : first + most] = made[:, : values.shape[1] - first]
    return out


class Painter:
    """Pictures of lamps and what they light.

    Parameters
    ----------
    mix, images
        (H·W, P), (H·W, N): how the light of mesh nodes and lamps gets into pixels of the picture.
    base
        (H·W, 3): light without lamps.
    touched
        (A,): pixels of the picture that lamps can change, in order.
    scale
        Steps of the tone table per unit of light.
    table
        (65536,): the tone table.

    Raises
    ------
    ValueError
        A matrix or a touched pixel that points outside, or touched pixels out of order.
    """

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
        if (np.diff(touched) < 1).any():
            raise ValueError("touched: pixels that aren't in order")
        self._matrices = _opened(mix), _opened(images)
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
        wanted = [(size, 3 * len(out)) for size in self._sizes]
        if [nodes.shape, lamps.shape] != wanted:
            raise ValueError(f"nodes and lamps: expected arrays of {wanted[0]} and {wanted[1]}")
        light = [_widened(each) for each in (nodes, lamps)]
        _loops.paint(
            *(*mix, light[0]), *(*images, light[1]), self._base, touched, self._table, out,
            self._scale, light[0].shape[1],
        )  # fmt: skip


def _opened(rows: SparseRows) -> tuple[F32, NDArray[np.int32], NDArray[np.int64]]:
    """Return a matrix's arrays as the loops read them."""
    return (
        np.ascontiguousarray(rows.data, np.float32),
        np.ascontiguousarray(rows.indices, np.int32),
        np.ascontiguousarray(rows.indptr, np.int64),
    )


def _widened(light: F32) -> F32:
    """Return light with zeros up to the next width that the loops take."""
    wide = min((width for width in _WIDTHS if width >= light.shape[1]), default=0)
    if wide in (0, light.shape[1]):
        return np.ascontiguousarray(light, np.float32)
    wider = np.zeros((len(light), wide), np.float32)
    wider[:, : light.shape[1]] = light
    return wider


def moved(table: CellTable, before: Packed, frames: Packed, indices: U8, same: int) -> Moved:
    """Give those pixels new ``indices`` that get too far from their old ones, frame by frame.

    They are those much too far off, and neighbours in a row that are too far off.

    Parameters
    ----------
    table
        Cells that occur and aren't known yet are added to it.
    before
        (H, W): packed colours that ``indices`` (H, W) were mapped from; the highest byte doesn't
        count.
    frames
        (T, H, W): packed colours of the frames that follow.
    same
        An index that no colour has.
    """
    changes, boxes = np.empty(frames.shape, np.uint8), np.empty((len(frames), 4), np.int32)
    given = np.ascontiguousarray(before), np.ascontiguousarray(frames)
    _loops.moved(table, *given, indices, changes, boxes, indices.shape[1], same)
    return Moved(changes, boxes)


def learn(table: CellTable, colours: Packed, mixing: Mixing | None = None) -> None:
    """Work out the cells of packed colours that aren't known yet; with ``mixing`` mixtures, too."""
    _loops.learn(table, np.ascontiguousarray(colours), mixing is not None, *(mixing or (0.0, 0.0)))


def nearest(here: F32, places: F32) -> U8:
    """Return (K,) which of up to 256 places (P, 3) is the nearest to each of (K, 3)."""
    near = np.empty(len(here), np.uint8)
    given = np.ascontiguousarray(here, np.float32), np.ascontiguousarray(places.T, np.float32)
    _loops.nearest(*given, near)
    return near


def image(indices: U8, box: Box, same: int) -> bytes:
    """Return a box of palette indices (H, W) as an image of a GIF.

    Parameters
    ----------
    box
        Left, top, width, height.
    same
        The index that occurs most.
    """
    left, top, width, height = map(int, box)
    whole = np.ascontiguousarray(indices)
    return _loops.image(whole, whole.shape[1], left, top, width, height, same)
