"""The innermost loops in numpy, for where `compiled` can't be loaded, and for its tests."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner.cells import UNKNOWN, Box, CellTable, Mixing, Moved
from lumenmap.pictures.inner.rows import SparseRows

if TYPE_CHECKING:
    from scipy import sparse

F32 = NDArray[np.float32]
U8 = NDArray[np.uint8]
Packed = NDArray[np.uint32]
Spots = NDArray[np.intp]

#: Frames at once.
BLOCK = 8
#: Pixels of the picture worked on at once, few enough for the cache.
CHUNK = 4096
#: A matrix of more entries than this isn't kept from block to block (12 bytes each).
KEEP = 8_000_000
#: Colours per step, so that their distances stay in the cache.
COLOURS = 512
_RGB = np.uint32(0xFFFFFF)


class Band(NamedTuple):
    """A few pixels of the picture (A,): what lights them (A, P + N), and what they are without."""

    pixels: Spots
    matrix: sparse.csr_array
    base: F32


class Nodes:
    """As `compiled.Nodes`."""

    def __init__(self, wash: SparseRows, colours: F32) -> None:
        self._matrix = wash.matrix()
        self._colours = np.tile(colours, BLOCK)

    def lit(self, groups: F32) -> F32:
        """As `compiled.Nodes.lit`."""
        nodes: F32 = self._matrix @ groups
        nodes *= self._colours[:, : nodes.shape[1]]
        return nodes


def product(matrix: SparseRows, values: F32) -> F32:
    """As `compiled.product`."""
    found: F32 = matrix.matrix() @ np.asarray(values, np.float32)
    return found


class Painter:
    """As `compiled.Painter`."""

    def __init__(
        self,
        mix: SparseRows,
        images: SparseRows,
        base: F32,
        touched: Spots,
        scale: np.float32,
        table: U8,
    ) -> None:
        self._parts = (mix.matrix(), images.matrix())
        self._base, self._touched, self._scale = base, touched, scale
        # One table per channel, each in its own byte, so that a look-up also packs.
        self._tables = [table.astype(np.uint32) << (8 * k) for k in range(3)]
        self._keep = mix.nnz + images.nnz <= KEEP
        self._kept: list[Band] | None = None

    def paint(self, nodes: F32, lamps: F32, out: Packed) -> None:
        """As `compiled.Painter.paint`."""
        light = np.concatenate([nodes, lamps])
        for band in self._bands():
            shown = band.matrix @ light
            shown += band.base[:, : shown.shape[1]]
            out[:, band.pixels] = self._packed(shown).T

    def unlit(self) -> Packed:
        """As `compiled.Painter.unlit`."""
        parts = np.array_split(self._base, max(1, len(self._base) // CHUNK))
        return np.concatenate([self._packed(part * self._scale)[:, 0] for part in parts])

    def _bands(self) -> Iterable[Band]:
        """Yield the pixels of the picture that lamps light, a few thousand at a time.

        They are kept for the next frames, unless that takes too much memory.
        """
        if self._kept is not None:
            return self._kept
        made = (
            self._band(self._touched[i : i + CHUNK]) for i in range(0, len(self._touched), CHUNK)
        )
        if not self._keep:
            return made
        self._kept = list(made)
        return self._kept

    def _band(self, pixels: Spots) -> Band:
        from scipy import sparse

        both = sparse.hstack([part[pixels] for part in self._parts], format="csr")
        # Repeated for the columns of a block: ten times as fast as broadcasting.
        base = np.tile(self._base[pixels] * self._scale, BLOCK)
        return Band(pixels, both * self._scale, base)

    def _packed(self, scaled: F32) -> Packed:
        """Return (A, t) packed sRGB of (A, t · 3) light in steps of the tone table."""
        at = scaled.astype(np.intp)
        # Beyond the end of the table all is white, which clipping gives.
        red, green, blue = (
            table.take(at[:, channel::3], mode="clip") for channel, table in enumerate(self._tables)
        )
        return np.asarray(red | green | blue, np.uint32)


def moved(table: CellTable, before: Packed, frames: Packed, indices: U8, same: int) -> Moved:
    """As `compiled.moved`."""
    changes = np.full(frames.shape, same, np.uint8)
    boxes = np.zeros((len(frames), 4), np.int32)
    for now, changed, box in zip(frames, changes, boxes, strict=True):
        spots = np.nonzero((before ^ now) & _RGB)
        spots, near = _moved(table, spots, now[spots], indices)
        changed[spots] = indices[spots] = near
        if len(near):
            (top, left), (bottom, right) = ([f(at) for at in spots] for f in (np.min, np.max))
            box[:] = left, top, right + 1 - left, bottom + 1 - top
        before = now
    return Moved(changes, boxes)


def _moved(
    table: CellTable, spots: tuple[Spots, ...], colours: Packed, indices: U8
) -> tuple[tuple[Spots, ...], U8]:
    """Return which of some spots (y, x) move, and to what."""
    _learn(table, colours)
    cells = _cells(table, colours)
    here = table.places.take(cells, axis=0)
    away = here - table.palette.take(indices[spots], axis=0)
    away *= away
    square = away[:, 0] + away[:, 1]
    square += away[:, 2]
    some = np.flatnonzero(square > here[:, 3])
    much = square.take(some) > table.alone.take(cells.take(some))
    y, x = (at.take(some) for at in spots)
    flags = np.zeros((indices.shape[0], indices.shape[1] + 2), np.bool_)
    flags[y, x + 1] = True
    stay = ~(flags[y, x] | flags[y, x + 2] | much)
    return (y[~stay], x[~stay]), table.near.take(cells.take(some[~stay]))


def learn(table: CellTable, colours: Packed, mixing: Mixing | None = None) -> None:
    """As `compiled.learn`."""
    _learn(table, colours.ravel())
    if mixing is not None:
        todo = np.unique(_cells(table, colours.ravel()))
        todo = todo[table.second.take(todo) == UNKNOWN]
        for first in range(0, len(todo), COLOURS):
            _mix(table, todo[first : first + COLOURS], mixing)


def _mix(table: CellTable, cells: NDArray[np.int32], mixing: Mixing) -> None:
    """Find the second nearest colours of cells, and their shares in the mix."""
    colours = table.colours.T
    here, near = table.places[cells, :3], table.near[cells]
    away = ((here[:, None] - colours) ** 2).sum(-1)
    away[np.arange(len(cells)), near] = np.inf
    second = away.argmin(1)
    a, b = colours[near], colours[second]
    square = ((b - a) ** 2).sum(1)
    share = ((here - a) * (b - a)).sum(1) / np.maximum(square, 1e-12)
    share = np.clip((share - mixing.solid) / (1 - 2 * mixing.solid), 0, 0.5)
    table.second[cells] = second
    table.share[cells] = np.where(square > mixing.shows**2, share, 0) * 255


def _learn(table: CellTable, colours: Packed) -> None:
    cells = _cells(table, colours)
    cells, first = np.unique(cells, return_index=True)
    new = np.flatnonzero(table.places[:, 3].take(cells) == 0)
    cells, colours = cells.take(new), colours.take(first.take(new))
    rgb = np.stack([table.middle.take((colours >> k) & 255) for k in (0, 8, 16)], axis=-1)
    here = (np.cbrt(rgb @ table.to_lms.T) @ table.to_lab.T).astype(np.float32)
    near = nearest(here, table.colours.T)
    best = np.linalg.norm(here - table.colours.T[near], axis=1)
    # Above zero even for a palette of one colour, which has no slack: zero is unknown.
    kept = np.maximum((best + table.slack.take(near)) ** 2, np.float32(1e-12))
    table.places[cells] = np.concatenate([here, kept[:, None]], axis=1)
    table.alone[cells] = (best + table.slack_alone.take(near)) ** 2
    table.near[cells] = near


def _cells(table: CellTable, colours: Packed) -> NDArray[np.int32]:
    cells = table.spread[0].take(colours & 255)
    cells |= table.spread[1].take((colours >> 8) & 255)
    cells |= table.spread[2].take((colours >> 16) & 255)
    return np.asarray(cells.view(np.int32))


def nearest(here: F32, places: F32) -> U8:
    """As `compiled.nearest`."""
    near = np.empty(len(here), np.uint8)
    size = (places**2).sum(1)
    for first in range(0, len(here), COLOURS):
        part = slice(first, first + COLOURS)
        # A matrix product, and a term that is the same for a row left out.
        near[part] = (size - 2 * here[part] @ places.T).argmin(1)
    return near


def image(indices: U8, box: Box, same: int) -> bytes:
    """As `compiled.image`, whatever occurs most."""
    del same
    from PIL import GifImagePlugin, Image

    left, top, width, height = map(int, box)
    part = np.ascontiguousarray(indices[top : top + height, left : left + width])
    return b"".join(GifImagePlugin.getdata(Image.fromarray(part), (left, top)))
