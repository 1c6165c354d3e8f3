"""`Preview`: the house at night as base + matrix × lamps; the matrices are computed once.

Strategy: light adds up, so a picture is linear in the lamps' colours. Computed once: the base
(dusk, dark walls, lit windows); the irradiance from each group of lamps at mesh nodes on visible
faces (dense, one BLAS product per block); and a sparse matrix that mixes the nodes (bilinear,
weighted by how much of each pixel of the picture a face covers) and adds the image of every lamp.
Each frame then takes two products and one tone table.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.core.errors import InputError
from lumenmap.pictures.drawn.exposure import exposure
from lumenmap.pictures.drawn.tone import STEPS, tone_table
from lumenmap.pictures.drawn.transport import Transport, transport
from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.view import View, ViewName, view_camera
from lumenmap.site import Site

Frames = NDArray[np.uint8]
F32 = NDArray[np.float32]

#: Frames per product: few enough for the processor's cache, enough for speed.
BLOCK = 8
#: Pixels of the picture worked on at once, few enough for the cache.
CHUNK = 4096
#: A matrix of more entries than this isn't kept from block to block (12 bytes each).
KEEP = 8_000_000
#: Largest side of a picture, in pixels.
LARGEST = 3840
#: Exposed light too faint to change a picture by one code.
FAINT = 1.6e-4


def check_size(width: int, height: int) -> None:
    """Refuse a size that no picture has.

    Raises
    ------
    InputError
        A side outside 16..`LARGEST`.
    """
    if not (16 <= width <= LARGEST and 16 <= height <= LARGEST):
        raise InputError(
            f"a picture of {width} × {height} pixels; expected 16 to {LARGEST} for each side"
        )


class Band(NamedTuple):
    """A few pixels of the picture (A,): what lights them (A, P + N), and what they are without."""

    pixels: NDArray[np.intp]
    matrix: sparse.csr_array
    base: F32


class Preview:
    """Pictures of one house with its pixels, from one view.

    Parameters
    ----------
    site
        The house with its pixels.
    width, height
        Size of the pictures in pixels.
    view
        A named view or a camera of that size; by default from the street, framed to the house.
    look
        Time of day, weather, surroundings, and stops added to the house's own exposure
        (`drawn.exposure`).
    cache
        Keep the light transport, and the exposure, in the user's cache folder.

    Raises
    ------
    InputError
        A size that no picture can have, an unknown view, or a camera inside the
        house.
    """

    def __init__(
        self,
        site: Site,
        *,
        width: int = 640,
        height: int = 360,
        view: Camera | View | ViewName | None = None,
        look: Look | None = None,
        cache: bool = False,
    ) -> None:
        check_size(width, height)
        self.width, self.height = width, height
        self.look = look or Look()
        self.camera = view_camera(site, view, width, height)
        self.parts: Transport = transport(
            site, self.camera, replace(self.look, stops=0.0), cache=cache
        )
        parts = self.parts
        self.exposure = exposure(site, self.look.time, cache=cache) * 2**self.look.stops
        most = np.maximum(parts.mix @ (parts.wash.sum(1) * parts.colours.max(1)), 0)
        most += parts.images.sum(1)
        self._touched = np.flatnonzero(most * self.exposure > FAINT)
        self._colours = np.tile(parts.colours, BLOCK)
        # One table per channel, each in its own byte, so that a look-up also packs.
        self._tables = [tone_table().astype(np.uint32) << (8 * k) for k in range(3)]
        self._scale = np.float32(STEPS * self.exposure)  # in steps of the table
        self._kept: list[Band] | None = None
        self._dark = self._toned(parts.base, self._scale)

    def _bands(self) -> Iterable[Band]:
        """Yield the pixels of the picture that lamps light, a few thousand at a time.

        They are kept for the next frames, unless that takes too much memory.
        """
        if self._kept is not None:
            return self._kept
        parts = self.parts
        made = (
            self._band(self._touched[i : i + CHUNK]) for i in range(0, len(self._touched), CHUNK)
        )
        if parts.mix.nnz + parts.images.nnz > KEEP:
            return made
        self._kept = list(made)
        return self._kept

    def _band(self, pixels: NDArray[np.intp]) -> Band:
        parts = self.parts
        both = sparse.hstack([parts.mix[pixels], parts.images[pixels]], format="csr")
        # Repeated for the columns of a block: ten times as fast as broadcasting.
        return Band(pixels, both * self._scale, np.tile(parts.base[pixels] * self._scale, BLOCK))

    def _nodes(self, light: F32) -> F32:
        """Return (P, t · 3) radiance at the mesh nodes, channels of a frame next to each other."""
        columns = light[..., :3].transpose(1, 0, 2).reshape(light.shape[1], -1)
        groups = np.add.reduceat(columns, self.parts.starts, axis=0) * self.parts.share[:, None]
        nodes: F32 = self.parts.wash @ groups
        for first in range(0, nodes.shape[1], self._colours.shape[1]):
            part = nodes[:, first : first + self._colours.shape[1]]
            part *= self._colours[:, : part.shape[1]]
        return nodes

    def frames(self, light: F32) -> Frames:
        """Return (T, H, W, 3) sRGB pictures of (T, N, 3) linear light 0..1 in R, G, B.

        They are a view of an array with four bytes per pixel, so that colours compare as numbers.
        """
        out = np.empty((len(light), self.height * self.width), np.uint32)
        out[:] = self._dark
        stacks = [self._stacked(light[i : i + BLOCK]) for i in range(0, len(light), BLOCK)]
        for band in self._bands():
            for number, stack in enumerate(stacks):
                shown = band.matrix @ stack
                shown += band.base[:, : shown.shape[1]]
                first = number * BLOCK
                out[first : first + BLOCK, band.pixels] = self._packed(shown).T
        view: Frames = out.astype("<u4", copy=False).view(np.uint8)
        return view.reshape(len(light), self.height, self.width, 4)[..., :3]

    def still(self, light: F32) -> Frames:
        """Return one (H, W, 3) sRGB picture of (N, 3) linear light."""
        picture: Frames = self.frames(np.asarray(light, np.float32)[None])[0]
        return picture

    def _stacked(self, light: F32) -> F32:
        """Return (P + N, t · 3) the light of nodes and lamps in a block (t, N, 3) of frames."""
        light = np.asarray(light, np.float32)
        columns = np.ascontiguousarray(light[..., :3].transpose(1, 0, 2), np.float32)
        return np.concatenate([self._nodes(light), columns.reshape(light.shape[1], -1)])

    def _toned(self, light: F32, scale: np.float32) -> NDArray[np.uint32]:
        """Return (A,) packed sRGB of (A, 3) light."""
        packed = np.empty(len(light), np.uint32)
        for first in range(0, len(light), CHUNK):
            part = slice(first, first + CHUNK)
            packed[part] = self._packed(light[part] * scale)[:, 0]
        return packed

    def _packed(self, scaled: F32) -> NDArray[np.uint32]:
        """Return (A, t) packed sRGB of (A, t · 3) light in steps of the tone table."""
        at = scaled.astype(np.intp)
        # Beyond the end of the table all is white, which clipping gives.
        red, green, blue = (
            table.take(at[:, channel::3], mode="clip") for channel, table in enumerate(self._tables)
        )
        return np.asarray(red | green | blue, np.uint32)
