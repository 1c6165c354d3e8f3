"""`Fragments`: what the picture shows, a row for each face in each pixel of the picture.

Strategy: most pixels of a picture show one face only and need one row; those on an outline get a
row per sample. So later steps compute no more than needed, and outlines are smooth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.raster import Raster
from lumenmap.pictures.scene.surface import Surface

F = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Fragments:
    """Rows sorted by surface.

    Attributes
    ----------
    surface, pixel
        (F,) index of the surface (-1 for sky), and of the picture's pixel (row-major).
    weight
        (F,) share of the pixel; the shares of a pixel add up to 1.
    rays
        (F, 3) directions, 1 m deep.
    """

    surface: Ints
    pixel: Ints
    weight: NDArray[np.float32]
    rays: F

    def of(self, index: int) -> slice:
        """Return the rows of one surface."""
        low, high = np.searchsorted(self.surface, (index, index + 1))
        return slice(int(low), int(high))

    def points(self, surfaces: Sequence[Surface], camera: Camera) -> Iterator[tuple[int, slice, F]]:
        """Yield (index, rows, (K, 3) points in m) of each visible surface."""
        for index, surface in enumerate(surfaces):
            rows = self.of(index)
            if rows.stop == rows.start:
                continue
            rays = self.rays[rows]
            offset = float((surface.corners[0] - camera.position) @ surface.normal)
            slant = rays @ surface.normal
            # A sample on the edge of a face seen edge-on may have a ray that misses its plane.
            slant = np.where(np.abs(slant) < 1e-6, 1e-6 * (1 if offset >= 0 else -1), slant)
            depth = np.clip(offset / slant, 0.01, 2000)
            yield index, rows, camera.position + rays * depth[:, None]


def fragments(raster: Raster, camera: Camera) -> Fragments:
    """Sort a raster's samples into fragments."""
    s, w, h = raster.samples, camera.width, camera.height
    cells = raster.surface.reshape(h, s, w, s).transpose(0, 2, 1, 3).reshape(h * w, s * s)
    whole = (cells == cells[:, :1]).all(1)
    inner, rim = np.flatnonzero(whole), np.flatnonzero(~whole)
    middle = np.stack([inner % w + 0.5, inner // w + 0.5], axis=-1)
    offsets = (np.arange(s) + 0.5) / s
    dy, dx = (a.ravel() for a in np.meshgrid(offsets, offsets, indexing="ij"))
    x = (rim % w)[:, None] + dx
    y = (rim // w)[:, None] + dy
    places = np.concatenate([middle, np.stack([x.ravel(), y.ravel()], axis=-1)])
    surface = np.concatenate([cells[inner, 0], cells[rim].ravel()]).astype(np.int64)
    pixel = np.concatenate([inner, np.repeat(rim, s * s)])
    weight = np.ones(len(pixel), np.float32)
    weight[len(inner) :] = 1 / s**2
    order = np.argsort(surface, kind="stable")
    return Fragments(surface[order], pixel[order], weight[order], camera.rays(places[order]))
