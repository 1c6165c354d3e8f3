"""`Raster`: the nearest surface at each sample of the picture, and its depth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.camera import NEAR, Camera
from lumenmap.pictures.scene.surface import Surface
from lumenmap.solids.planes import following, vector_area

F = NDArray[np.float64]

#: A face must be nearer by this factor to hide one drawn before. Of two in one plane (a wall, and
#: the eave of the next mass) the first then stays, where rounding would mix them.
NEARER = np.float32(1 + 1e-5)
#: Samples of a face drawn at once: bounds the memory.
AT_ONCE = 1 << 17


@dataclass(frozen=True, slots=True, eq=False)
class Raster:
    """``surface`` (H·s, W·s) indices, -1 for the sky; ``nearest`` (H·s, W·s) 1/m; s samples."""

    surface: NDArray[np.int16]
    nearest: NDArray[np.float32]
    samples: int

    def depth(self, rows: NDArray[np.int64], columns: NDArray[np.int64]) -> NDArray[np.float32]:
        """Return the depth (K,) at samples, m; inf for the sky."""
        seen = self.surface[rows, columns] >= 0
        found = np.full(len(rows), np.inf, np.float32)
        found[seen] = 1 / self.nearest[rows, columns][seen]
        return found

    def places(self) -> F:
        """Return the positions (H·s, W·s, 2) of the samples' centres in the picture."""
        rows, columns = self.surface.shape
        x = (np.arange(columns) + 0.5) / self.samples
        y = (np.arange(rows) + 0.5) / self.samples
        return np.stack(np.broadcast_arrays(x[None, :], y[:, None]), axis=-1)


def rasterise(surfaces: Sequence[Surface], camera: Camera, samples: int = 2) -> Raster:
    """Draw flat surfaces into a depth buffer of ``samples`` × ``samples`` per pixel."""
    shape = (camera.height * samples, camera.width * samples)
    nearest = np.zeros(shape, np.float32)  # 1/depth: larger is nearer
    which = np.full(shape, -1, np.int16)
    for index, surface in enumerate(surfaces):
        corners = _in_front((surface.corners - camera.position) @ camera.turn.T)
        if len(corners) >= 3:
            _fill(corners, index, camera, samples, nearest, which)
    return Raster(which, nearest, samples)


def _in_front(corners: F) -> F:
    """Clip a polygon in camera axes to the part in front of the lens (Sutherland–Hodgman)."""
    kept = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if a[2] > NEAR:
            kept.append(a)
        if (a[2] > NEAR) != (b[2] > NEAR):
            kept.append(a + (b - a) * ((NEAR - a[2]) / (b[2] - a[2])))
    return np.array(kept).reshape(-1, 3)


def _fill(
    corners: F,
    index: int,
    camera: Camera,
    samples: int,
    nearest: NDArray[np.float32],
    which: NDArray[np.int16],
) -> None:
    focal = camera.focal * samples
    cx, cy = camera.centre[0] * samples, camera.centre[1] * samples
    normal = vector_area(corners)
    offset = float(normal @ corners.mean(0))
    if abs(offset) < 1e-12:  # seen exactly from the side
        return
    flat = corners[:, :2] * (focal / corners[:, 2:]) + (cx, cy)
    rows, columns = nearest.shape
    # Bounds are clipped as floats: a corner near the lens may project far beyond any integer.
    left, top = np.clip(np.floor(flat.min(0)), 0, (columns, rows)).astype(int)
    right, bottom = np.clip(np.ceil(flat.max(0)), 0, (columns, rows)).astype(int)
    if right <= left or bottom <= top:
        return
    # On a plane, 1/depth is linear in the picture.
    x = np.arange(left, right, dtype=np.float64) + 0.5
    across = (normal[0] * (x - cx) / focal + normal[2]) / offset
    step = max(1, AT_ONCE // len(x))
    for first in range(int(top), int(bottom), step):
        band = slice(first, min(first + step, int(bottom)))
        y = np.arange(band.start, band.stop, dtype=np.float64) + 0.5
        down = normal[1] * (y - cy) / focal / offset
        near = across[None, :] + down[:, None]
        drawn = nearest[band, left:right]
        new = _inside(flat, x, y)
        new &= near > drawn * NEARER
        np.copyto(drawn, near, "same_kind", where=new)
        np.copyto(which[band, left:right], index, where=new)


def _inside(outline: F, x: F, y: F) -> NDArray[np.bool_]:
    """Return (Y, X) whether samples are within an outline (even-odd)."""
    a, b = outline, following(outline)
    spans = (a[:, 1] > y[:, None]) != (b[:, 1] > y[:, None])
    way = b - a
    slope = np.divide(way[:, 0], way[:, 1], out=np.zeros(len(a)), where=way[:, 1] != 0)
    # A row is inside between where sides cross it for the first time and the second, and so on.
    met = np.where(spans, a[:, 0] + (y[:, None] - a[:, 1]) * slope, np.inf)
    met.sort(axis=1)
    most = int(spans.sum(1).max(initial=0))
    start = np.searchsorted(x, met[:, :most], side="right").astype(np.int32)[..., None]
    column = np.arange(len(x), dtype=np.int32)
    inside = np.zeros((len(y), len(x)), bool)
    for k in range(0, most, 2):
        inside |= (column >= start[:, k]) & (column < start[:, k + 1])
    return inside
