"""`Stage`: shows drawn on a photograph, by the model's light on the photograph's faces.

Strategy: the model says how much light each lamp throws on each face, as for any picture; the
photograph says what each of its pixels reflects, and how it looks without lamps. The photograph is
flattened first, so that the camera is a pinhole.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.camera.lens.shot import Shot
from lumenmap.camera.stage.night import Model, Night, night
from lumenmap.colour.transfer import to_linear
from lumenmap.pictures.light.mesh import LAMBERT, mesh
from lumenmap.pictures.light.preview import BLOCK, CHUNK, Frames, Preview
from lumenmap.pictures.light.tone import STEPS, tone_table
from lumenmap.pictures.scene.fragments import fragments
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.rails import lamp_places, rails
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.surface import Surface
from lumenmap.site import Site

F32 = NDArray[np.float32]

#: What is taken for the house in the photograph.
HOUSE = ("wall", "roof", "fascia", "trim")


class Stage(Preview):
    """Pictures of a house's pixels on a photograph.

    Parameters
    ----------
    site
        The house with its pixels.
    photo
        The photograph (H, W, 3), sRGB codes.
    shot
        Its camera.
    width
        Width of the pictures in pixels.
    look
        Time of day and exposure; trees and snow are the photograph's own.
    cache
        Keep the light transport in the user's cache folder.
    """

    def __init__(
        self,
        site: Site,
        photo: NDArray[np.uint8],
        shot: Shot,
        *,
        width: int = 1280,
        look: Look | None = None,
        cache: bool = False,
    ) -> None:
        camera = shot.flat(width)
        asked = look or Look()
        plain = Look(asked.time, trees=False, stops=asked.stops)
        super().__init__(
            site,
            width=width,
            height=camera.height,
            view=camera,
            look=plain,
            cache=cache,
        )
        surfaces = (*rails(lamp_places(site)[0], site.pixels), *scene(site.house, plain))
        self._white, kinds, colours = self._seen(site, surfaces)
        flat = shot.flatten(to_linear(photo / 255).astype(np.float32), width)
        self.night = self._night(flat, kinds, colours, surfaces)
        self._table = tone_table()

    def _seen(
        self, site: Site, surfaces: tuple[Surface, ...]
    ) -> tuple[sparse.csr_array, NDArray[np.int16], F32]:
        """Return how pixels mix the mesh's nodes, and the surface and its colour at each."""
        raster = rasterise(surfaces, self.camera)
        middle = raster.surface[1::2, 1::2]
        seen = fragments(raster, self.camera, len(surfaces))
        detail = np.ones(len(seen.pixel), np.float32)  # the photograph has its own
        white = mesh(surfaces, seen, detail, lamp_places(site)[0]).mix
        colours = np.array([*(s.colour for s in surfaces), (0.3, 0.3, 0.3)], np.float32)
        return white, middle, colours[middle]

    def _night(
        self, flat: F32, kinds: NDArray[np.int16], colours: F32, surfaces: tuple[Surface, ...]
    ) -> Night:
        house = np.array([*(s.kind in HOUSE for s in surfaces), False])[kinds]
        base = self.parts.base.reshape(self.height, self.width, 3)
        return night(flat, Model(base, colours, house, kinds < 0))

    def frames(self, light: F32) -> Frames:
        """Return (T, H, W, 3) sRGB pictures of (T, N, 3) linear light 0..1 in R, G, B."""
        light = np.asarray(light, np.float32)[..., :3]
        out = np.empty((len(light), self.height * self.width, 3), np.uint8)
        for first in range(0, len(light), BLOCK):
            self._block(light[first : first + BLOCK], out[first : first + BLOCK])
        return out.reshape(len(light), self.height, self.width, 3)

    def _block(self, light: F32, out: Frames) -> None:
        scale = np.float32(STEPS * self.exposure)
        nodes = self._falling(light)
        lamps = np.ascontiguousarray(light.transpose(1, 0, 2)).reshape(light.shape[1], -1)
        dark = self.night.dark.reshape(-1, 3)
        reflects = self.night.reflects.reshape(-1, 3)
        for rows in _bands(len(dark)):
            wash = (self._white[rows] @ nodes).reshape(-1, len(light), 3)
            wash *= reflects[rows, None]
            wash += (self.parts.images[rows] @ lamps).reshape(wash.shape)
            wash += dark[rows, None]
            codes = self._table.take((wash * scale).astype(np.intp), mode="clip")
            out[:, rows] = codes.transpose(1, 0, 2)

    def _falling(self, light: F32) -> F32:
        """Return (P, t · 3) radiance of white faces at the mesh's nodes."""
        columns = light.transpose(1, 0, 2).reshape(light.shape[1], -1)
        groups = np.add.reduceat(columns, self.parts.starts, axis=0) * self.parts.share[:, None]
        return np.asarray(self.parts.wash @ groups * np.float32(LAMBERT), np.float32)


def _bands(pixels: int) -> Iterator[slice]:
    for first in range(0, pixels, CHUNK):
        yield slice(first, min(first + CHUNK, pixels))
