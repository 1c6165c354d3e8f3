"""`Preview`: the house at night as base + matrix × lamps; the matrices are computed once.

Strategy: light adds up, so a picture is linear in the lamps' colours. Computed once: the base
(dusk, dark walls, lit windows); the irradiance from each group of lamps at mesh nodes on visible
faces (dense, one BLAS product per block); and a sparse matrix that mixes the nodes (bilinear,
weighted by how much of each pixel of the picture a face covers) and adds the image of every lamp.
Each frame then takes two products and one tone table.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.core.errors import InputError
from lumenmap.pictures.light.exposure import exposure
from lumenmap.pictures.light.tone import STEPS, tone_table
from lumenmap.pictures.light.transport import Transport, transport
from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.view import View, ViewName, view_camera
from lumenmap.site import Site

Frames = NDArray[np.uint8]
F32 = NDArray[np.float32]

#: Frames per product: few enough for the processor's cache, enough for speed.
BLOCK = 8
#: Rows toned at once, few enough for the cache.
CHUNK = 4096
#: Largest side of a picture, in pixels.
LARGEST = 3840
#: Light too faint to change a picture by one code, at the longest exposure.
FAINT = 1e-4


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
        Time of day, weather, surroundings.
    cache
        Keep the light transport in the user's cache folder.

    Raises
    ------
    InputError
        A size that no picture can have, an unknown view, or a camera inside the house.
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
        self.parts: Transport = transport(site, self.camera, self.look, cache=cache)
        parts = self.parts
        both = sparse.hstack([parts.mix, parts.images], format="csr")
        most = np.maximum(parts.mix @ (parts.wash.sum(1) * parts.colours.max(1)), 0)
        most += parts.images.sum(1)
        self._touched = np.flatnonzero(most > FAINT)
        self._unit = both[self._touched]
        self._colours = np.tile(parts.colours, BLOCK)
        # One table per channel, each in its own byte, so that a look-up also packs.
        self._tables = [tone_table().astype(np.uint32) << (8 * k) for k in range(3)]
        self._exposed(1.0)

    def _exposed(self, exposure: float) -> None:
        self.exposure = exposure
        scale = np.float32(
            STEPS * exposure
        )  # in steps of the table, multiplied into the matrix once
        self._matrix = self._unit * scale
        # Repeated for the columns of a block: ten times as fast as broadcasting.
        self._base = np.tile(self.parts.base[self._touched] * scale, BLOCK)
        self._dark = self._toned(self.parts.base * scale)[:, 0]

    def expose(self, sample: F32) -> None:
        """Choose the exposure from sample frames (K, N, 3) so that lit faces keep their colours.

        See `lumenmap.pictures.light.exposure`.
        """
        if not len(sample) or not len(self.parts.wash):
            return
        light = self._nodes(np.asarray(sample, np.float32))
        found = exposure(light.max(1), self.parts.area)
        if found is not None:
            self._exposed(found)

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
        for first in range(0, len(light), BLOCK):
            shown = self._changed(np.asarray(light[first : first + BLOCK], np.float32))
            out[first : first + BLOCK, self._touched] = shown.T
        view: Frames = out.astype("<u4", copy=False).view(np.uint8)
        return view.reshape(len(light), self.height, self.width, 4)[..., :3]

    def still(self, light: F32) -> Frames:
        """Return one (H, W, 3) sRGB picture of (N, 3) linear light."""
        picture: Frames = self.frames(np.asarray(light, np.float32)[None])[0]
        return picture

    def _changed(self, light: F32) -> NDArray[np.uint32]:
        """Return (A, t) packed sRGB of the pixels of the picture that lamps light."""
        columns = np.ascontiguousarray(light[..., :3].transpose(1, 0, 2), np.float32)
        stacked = np.concatenate([self._nodes(light), columns.reshape(light.shape[1], -1)])
        shown = self._matrix @ stacked
        shown += self._base[:, : shown.shape[1]]
        return self._toned(shown)

    def _toned(self, scaled: F32) -> NDArray[np.uint32]:
        """Return (A, t) packed sRGB of (A, t · 3) light in steps of the tone table."""
        packed = np.empty((len(scaled), scaled.shape[1] // 3), np.uint32)
        for first in range(0, len(scaled), CHUNK):
            part = slice(first, first + CHUNK)
            at = scaled[part].astype(np.intp)
            # Beyond the end of the table all is white, which clipping gives.
            red, green, blue = (
                table.take(at[:, channel::3], mode="clip")
                for channel, table in enumerate(self._tables)
            )
            packed[part] = red | green | blue
        return packed
