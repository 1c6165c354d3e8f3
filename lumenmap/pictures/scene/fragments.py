"""`Fragments`: what the picture shows, a row for each face in each pixel of the picture.

Strategy: most pixels of a picture show one face only and need one row; those on an outline get a
row per sample. So later steps compute no more than needed, and outlines are smooth. A row is five
bytes; what follows from it is worked out when it is needed, for some rows at a time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.raster import Raster
from lumenmap.pictures.scene.surface import Surface

F = NDArray[np.float64]

#: Rows worked on at once: bounds the memory of what is worked out.
AT_ONCE = 1 << 15


@dataclass(frozen=True, slots=True, eq=False)
class Fragments:
    """Rows sorted by surface.

    Attributes
    ----------
    starts
        (S + 2,) the first row of the sky, of each of S surfaces, and the number of rows.
    pixel
        (F,) the picture's pixel (row-major).
    sample
        (F,) the sample of the pixel, -1 for all of it.
    samples
        How many samples a pixel has each way.
    camera
        Whose picture it is.
    """

    starts: NDArray[np.int64]
    pixel: NDArray[np.int32]
    sample: NDArray[np.int8]
    samples: int
    camera: Camera

    def of(self, index: int) -> Iterator[slice]:
        """Yield the rows of one surface (-1 for the sky), some at a time."""
        first, last = int(self.starts[index + 1]), int(self.starts[index + 2])
        for row in range(first, last, AT_ONCE):
            yield slice(row, min(row + AT_ONCE, last))

    def count(self, index: int) -> int:
        """Return the number of rows of one surface."""
        return int(self.starts[index + 2] - self.starts[index + 1])

    def weight(self, rows: slice) -> NDArray[np.float32]:
        """Return the share of the pixel (K,); the shares of a pixel add up to 1."""
        return np.where(self.sample[rows] < 0, 1, 1 / self.samples**2).astype(np.float32)

    def rays(self, rows: slice) -> F:
        """Return directions (K, 3), 1 m deep."""
        wide, s, sample = self.camera.width, self.samples, self.sample[rows]
        offsets = (np.arange(s) + 0.5) / s
        # The last entry, at -1, is the middle of the pixel.
        dx, dy = np.append(np.tile(offsets, s), 0.5), np.append(np.repeat(offsets, s), 0.5)
        y, x = np.divmod(self.pixel[rows], wide)
        return self.camera.rays(np.stack([x + dx[sample], y + dy[sample]], axis=-1))

    def points(self, surface: Surface, rays: F) -> F:
        """Return where rays meet a surface, (K, 3) m."""
        offset = float((surface.corners[0] - self.camera.position) @ surface.normal)
        slant = rays @ surface.normal
        # A sample on the edge of a face seen edge-on may have a ray that misses its plane.
        slant = np.where(np.abs(slant) < 1e-6, 1e-6 * (1 if offset >= 0 else -1), slant)
        depth = np.clip(offset / slant, 0.01, 2000)
        return self.camera.position + rays * depth[:, None]


def fragments(raster: Raster, camera: Camera, surfaces: int) -> Fragments:
    """Sort the samples of a raster of so many surfaces into fragments."""
    s, w, h = raster.samples, camera.width, camera.height
    cells = raster.surface.reshape(h, s, w, s).transpose(0, 2, 1, 3).reshape(h * w, s * s)
    whole = (cells == cells[:, :1]).all(1)
    inner, rim = (np.flatnonzero(a).astype(np.int32) for a in (whole, ~whole))
    surface = np.concatenate([cells[inner, 0], cells[rim].ravel()])
    pixel = np.concatenate([inner, np.repeat(rim, s * s)])
    sample = np.concatenate(
        [np.full(len(inner), -1, np.int8), np.tile(np.arange(s * s, dtype=np.int8), len(rim))]
    )
    order = np.argsort(surface, kind="stable")
    counts = np.bincount(surface + 1, minlength=surfaces + 1)
    starts = np.concatenate([[0], np.cumsum(counts)])
    return Fragments(starts, pixel[order], sample[order], s, camera)
