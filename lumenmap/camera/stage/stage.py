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
from lumenmap.camera.stage.faces import Faces
from lumenmap.camera.stage.night import Model, Night, night
from lumenmap.camera.stage.shade import without_sun
from lumenmap.colour.transfer import to_linear
from lumenmap.pictures.drawn.preview import Frames, Preview
from lumenmap.pictures.drawn.tone import STEPS, tone_table
from lumenmap.pictures.inner import Nodes
from lumenmap.pictures.light.mesh import LAMBERT, mesh
from lumenmap.pictures.scene.fragments import fragments
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.rails import lamp_places, rails
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.surface import Surface, seen_side
from lumenmap.site import Site

F32 = NDArray[np.float32]

#: Frames, and pixels of the picture, worked on at once: few enough for the processor's cache.
BLOCK, CHUNK = 8, 4096
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
        house = scene(site.house, plain)
        self._white = self._mixing(site, (*rails(lamp_places(site)[0], site.pixels), *house))
        flat = shot.flatten(to_linear(photo / 255).astype(np.float32), width)
        faces = self._faces(house)  # the photograph may be older than the rails
        self.night = self._night(without_sun(flat, faces), faces)
        self._table = tone_table()
        white = np.full_like(self.parts.colours, LAMBERT)  # the photograph has the faces' colours
        self._lit = Nodes(self.parts.wash, white).lit

    def _mixing(self, site: Site, surfaces: tuple[Surface, ...]) -> sparse.csr_array:
        """Return how pixels mix the mesh's nodes."""
        raster = rasterise(surfaces, self.camera)
        seen = fragments(raster, self.camera, len(surfaces))
        detail = np.ones(len(seen.pixel), np.float32)  # the photograph has its own
        return mesh(surfaces, seen, detail, lamp_places(site)[0]).mix.matrix()

    def _faces(self, surfaces: tuple[Surface, ...]) -> Faces:
        """Return what each pixel shows."""
        raster = rasterise(surfaces, self.camera)
        middle = slice(1, None, 2)
        which, near = raster.surface[middle, middle], raster.nearest[middle, middle]
        rays = self.camera.rays(raster.places()[middle, middle])
        points = self.camera.position + rays / np.maximum(near, 1e-4)[..., None]
        normals = np.array([seen_side(s, self.camera.position) for s in surfaces])
        return Faces(surfaces, which, points.astype(np.float32), normals)

    def _night(self, flat: F32, faces: Faces) -> Night:
        colours = np.array([*(s.colour for s in faces.surfaces), (0.3, 0.3, 0.3)], np.float32)
        base = self.parts.base.reshape(self.height, self.width, 3)
        model = Model(base, colours[faces.which], faces.of(*HOUSE), faces.which < 0)
        return night(flat, model)

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
        images = self.parts.images.matrix()
        for rows in _bands(len(dark)):
            wash = (self._white[rows] @ nodes).reshape(-1, len(light), 3)
            wash *= reflects[rows, None]
            wash += (images[rows] @ lamps).reshape(wash.shape)
            wash += dark[rows, None]
            codes = self._table.take((wash * scale).astype(np.intp), mode="clip")
            out[:, rows] = codes.transpose(1, 0, 2)

    def _falling(self, light: F32) -> F32:
        """Return (P, t · 3) radiance of white faces at the mesh's nodes."""
        columns = light.transpose(1, 0, 2).reshape(light.shape[1], -1)
        groups = np.add.reduceat(columns, self.parts.starts, axis=0) * self.parts.share[:, None]
        return self._lit(groups)


def _bands(pixels: int) -> Iterator[slice]:
    for first in range(0, pixels, CHUNK):
        yield slice(first, min(first + CHUNK, pixels))
