"""`Preview`: the house at night as base + matrix × lamps; the matrices are computed once.

Strategy: light adds up, so a picture is linear in the lamps' colours. Computed once: the base
(dusk, dark walls, lit windows); the irradiance from each group of lamps at mesh nodes on visible
faces; and a matrix that mixes the nodes (bilinear, weighted by how much of each pixel of the
picture a face covers) and adds the image of every lamp. Both are sparse. Each frame then takes two
products and one tone table.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.pictures.drawn.exposure import exposure
from lumenmap.pictures.drawn.tone import STEPS, tone_table
from lumenmap.pictures.drawn.transport import transport
from lumenmap.pictures.inner import BLOCK, Nodes, Painter, product
from lumenmap.pictures.light.transport import Transport
from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.view import View, ViewName, view_camera
from lumenmap.site import Site

Frames = NDArray[np.uint8]
F32 = NDArray[np.float32]

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
        self._lit = Nodes(parts.wash, parts.colours).lit
        self._painter = Painter(
            parts.mix,
            parts.images,
            parts.base,
            self._touched(),
            np.float32(STEPS * self.exposure),
            tone_table(),
        )
        self._dark = self._painter.unlit()

    def _touched(self) -> NDArray[np.intp]:
        """Return the pixels of the picture that lamps can change."""
        parts = self.parts
        groups, lamps = (
            np.ones((each.columns, 1), np.float32) for each in (parts.wash, parts.images)
        )
        full = product(parts.wash, groups) * parts.colours.max(1, keepdims=True)
        most = product(parts.mix, full) + product(parts.images, lamps)
        return np.flatnonzero(most * self.exposure > FAINT)

    def _nodes(self, columns: F32) -> F32:
        """Return (P, t · 3) radiance at the mesh nodes of (N, t · 3) light."""
        groups = np.add.reduceat(columns, self.parts.starts, axis=0) * self.parts.share[:, None]
        return self._lit(groups)

    def frames(self, light: F32) -> Frames:
        """Return (T, H, W, 3) sRGB pictures of (T, N, 3) linear light 0..1 in R, G, B.

        They are a view of an array with four bytes per pixel, so that colours compare as numbers.
        """
        light = np.asarray(light, np.float32)[..., :3]
        out = np.empty((len(light), self.height * self.width), np.uint32)
        out[:] = self._dark
        for first in range(0, len(light), BLOCK):
            block = slice(first, first + BLOCK)
            columns = light[block].transpose(1, 0, 2).reshape(light.shape[1], -1)
            self._painter.paint(self._nodes(columns), columns, out[block])
        view: Frames = out.astype("<u4", copy=False).view(np.uint8)
        return view.reshape(len(light), self.height, self.width, 4)[..., :3]

    def still(self, light: F32) -> Frames:
        """Return one (H, W, 3) sRGB picture of (N, 3) linear light."""
        picture: Frames = self.frames(np.asarray(light, np.float32)[None])[0]
        return picture
