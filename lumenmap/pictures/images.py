"""Each lamp's own image in the picture: point spread, hidden lamps left out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.pictures.camera import Camera
from lumenmap.pictures.lamp import beam, point_spread
from lumenmap.pictures.raster import Raster

#: A lamp this much behind what the picture sees there still shows: rails stand proud (m).
PROUD = 0.15
#: Radius of a lamp's core and reach of its veil, as parts of the picture's height.
CORE, REACH = 1 / 500, 1 / 22
#: Brightness of a lamp's core at full, before exposure: far above what a screen shows.
PEAK = 2.4


def lamp_images(
    xyz: NDArray[np.float32], facing: NDArray[np.float32], lit: NDArray[np.float32],
    raster: Raster, camera: Camera,
) -> sparse.csr_array:  # fmt: skip
    """Return the sparse (H·W, N) matrix from lamps to picture elements."""
    width, height = camera.width, camera.height
    places, depth = camera.project(xyz.astype(np.float64))
    seen = (depth > 0.3) & (lit > 0)
    x, y = np.floor(places.T * raster.samples)
    inside = seen & (x >= 0) & (x < width * raster.samples) & (y >= 0)
    inside &= y < height * raster.samples
    hidden = np.zeros(len(xyz), bool)
    found = raster.depth[y[inside].astype(int), x[inside].astype(int)]
    hidden[inside] = found < depth[inside] - PROUD
    core = max(0.62, CORE * height)
    reach = max(3.0, REACH * height)
    near = (places > -reach).all(1) & (places < np.array([width, height]) + reach).all(1)
    shown = np.flatnonzero(seen & ~hidden & near)
    towards = camera.position - xyz[shown]
    towards /= np.linalg.norm(towards, axis=1, keepdims=True)
    level = beam(np.einsum("nk,nk->n", towards, facing[shown]).astype(np.float32))
    side = np.arange(-int(reach), int(reach) + 1)
    dy, dx = (a.ravel() for a in np.meshgrid(side, side, indexing="ij"))
    middle = np.floor(places[shown])
    column = (middle[:, :1] + dx).astype(np.int64)
    row = (middle[:, 1:] + dy).astype(np.int64)
    off = np.stack([column + 0.5 - places[shown, :1], row + 0.5 - places[shown, 1:]], -1)
    value = PEAK * level[:, None] * point_spread(off.astype(np.float32), core, reach)
    keep = (value > 1e-4) & (column >= 0) & (column < width) & (row >= 0) & (row < height)
    lamp = np.broadcast_to(shown[:, None], keep.shape)
    return sparse.coo_array(
        (value[keep], ((row * width + column)[keep], lamp[keep])),
        shape=(width * height, len(xyz)), dtype=np.float32,
    ).tocsr()  # fmt: skip
