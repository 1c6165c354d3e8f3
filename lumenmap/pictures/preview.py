"""`Preview`: the house at night as base + matrix × lamps; the matrix is computed once.

Strategy: light adds up, so a picture is linear in the lamps' colours. What is worked out once:
the base (dusk, dark walls, lit windows); the irradiance of each group of lamps at mesh nodes on
each visible face (dense, one BLAS product a block); and one sparse matrix that mixes the nodes
(bilinear, weighted by how much of each picture element a face covers) and adds every lamp's own
image. What is left for each frame: two products, one tone table.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.core.errors import InputError
from lumenmap.house.model import House
from lumenmap.pictures.base import base_picture
from lumenmap.pictures.camera import Camera, framed
from lumenmap.pictures.images import lamp_images
from lumenmap.pictures.mesh import mesh
from lumenmap.pictures.raster import Raster, rasterise
from lumenmap.pictures.scene import scene
from lumenmap.pictures.tone import STEPS, TOP, tone_table
from lumenmap.pictures.wash import group_starts, wash_matrix
from lumenmap.pixels.pixelmap import PixelMap

Frames = NDArray[np.uint8]
F32 = NDArray[np.float32]

#: Frames worked on together: small enough for the cache, large enough for the products.
BLOCK = 8
LARGEST = 4096
#: Intensity of a lamp at full, straight ahead, in the picture's units of light × m².
STRENGTH = 0.45


class Preview:
    """Pictures of one house with its pixels, from one view.

    Parameters
    ----------
    house, pixelmap
        The house and its pixels.
    width, height
        Size of the pictures in picture elements.
    view
        A camera of that size; by default from the street, framed to the house.

    Raises
    ------
    InputError
        A size that no picture has.
    """

    def __init__(
        self, house: House, pixelmap: PixelMap, *,
        width: int = 640, height: int = 360, view: Camera | None = None,
    ) -> None:  # fmt: skip
        if not (16 <= width <= LARGEST and 16 <= height <= LARGEST):
            raise InputError(f"a picture of {width} × {height}; wanted 16 to {LARGEST} each way")
        self.width, self.height = width, height
        self.surfaces = scene(house)
        seen = [s.corners for s in self.surfaces[:-1]] + [pixelmap.xyz]
        self.camera = view or framed(np.concatenate(seen), width, height)
        raster = rasterise(self.surfaces, self.camera)
        base = base_picture(self.surfaces, raster, self.camera)
        self._build(pixelmap, raster, base)

    def _build(self, pixelmap: PixelMap, raster: Raster, base: F32) -> None:
        xyz, facing = pixelmap.xyz.astype(np.float32), pixelmap.facing.astype(np.float32)
        lit = pixelmap.lit.astype(np.float32)
        self._starts = group_starts(pixelmap.edge) if len(xyz) else np.zeros(0, np.int64)
        size = np.diff([*self._starts, len(xyz)])
        laid = mesh(self.surfaces, raster, self.camera, pixelmap.xyz)
        self._wash = wash_matrix(laid.points, laid.normals, xyz, facing, lit, self._starts)
        self._wash *= STRENGTH
        self._share = (1 / np.maximum(size, 1)).astype(np.float32)
        self._colours = laid.colours
        images = lamp_images(xyz, facing, lit, raster, self.camera)
        both = sparse.hstack([laid.mix, images], format="csr")
        touched = np.flatnonzero(np.diff(both.indptr))
        self._touched, self._matrix = touched, both[touched].astype(np.float32)
        self._table = tone_table()
        self._base = base.reshape(-1, 3)[touched]
        codes = (np.minimum(base, TOP) * STEPS).astype(np.uint16)
        self._dark = self._table[codes]

    def frames(self, light: F32) -> Frames:
        """Return (T, H, W, 3) sRGB pictures of (T, N, 3) linear light 0..1 in R, G, B."""
        out = np.empty((len(light), self.height, self.width, 3), np.uint8)
        out[:] = self._dark
        flat = out.reshape(len(light), -1, 3)
        for first in range(0, len(light), BLOCK):
            shown = self._block(np.asarray(light[first : first + BLOCK], np.float32))
            flat[first : first + BLOCK, self._touched] = shown.transpose(1, 0, 2)
        return out

    def still(self, light: F32) -> Frames:
        """Return one (H, W, 3) sRGB picture of (N, 3) linear light."""
        picture: Frames = self.frames(np.asarray(light, np.float32)[None])[0]
        return picture

    def _block(self, light: F32) -> Frames:
        """Return (A, t, 3) sRGB of the picture elements that lamps touch."""
        count = len(light)
        lamps = light[..., :3].transpose(1, 0, 2)
        columns = np.ascontiguousarray(lamps).reshape(len(lamps), count * 3)
        groups = np.add.reduceat(columns, self._starts, axis=0) * self._share[:, None]
        nodes = (self._wash @ groups).reshape(-1, count, 3) * self._colours[:, None, :]
        stacked = np.concatenate([nodes.reshape(-1, count * 3), columns])
        shown = (self._matrix @ stacked).reshape(-1, count, 3)
        shown += self._base[:, None, :]
        np.minimum(shown, TOP, out=shown)
        shown *= STEPS
        found: Frames = self._table[shown.astype(np.uint16)]
        return found
