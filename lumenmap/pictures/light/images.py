"""Each lamp's own image in the picture: point spread, hidden lamps left out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.lamp import beam, point_spread
from lumenmap.pictures.scene.raster import Raster

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: A lamp this much behind what the picture sees there still shows: rails stand proud (m).
PROUD = 0.15
#: Radius of a lamp's core and reach of its veil, as parts of the picture's height.
CORE, REACH = 1 / 520, 1 / 20
#: Brightness of a lamp's core at full, before exposure: far above what a screen shows.
PEAK = 4.0
#: Where cores overlap in the picture, each gives way by this power of the sum.
GIVE = 0.75
#: Neighbours on each side that may overlap.
ALONG = 16


def lamp_images(
    xyz: F32, facing: F32, lit: F32, raster: Raster, camera: Camera
) -> tuple[sparse.csr_array, F32, F32]:
    """Return the sparse (H·W, N) matrix from lamps to picture elements.

    With it come each lamp's place in the picture (N, 2), and its core's brightness (N,), 0 where
    it is not seen.
    """
    width, height = camera.width, camera.height
    places, depth = camera.project(xyz.astype(np.float64))
    core, reach = max(0.62, CORE * height), max(3.0, REACH * height)
    near = (places > -reach).all(1) & (places < np.array([width, height]) + reach).all(1)
    shown = np.flatnonzero(near & (lit > 0) & ~_hidden(places, depth, raster))
    towards = camera.position - xyz[shown]
    towards /= np.maximum(np.linalg.norm(towards, axis=1, keepdims=True), 1e-9)
    level = beam(np.einsum("nk,nk->n", towards, facing[shown]).astype(np.float32))
    level *= PEAK * _room(places[shown], core)
    side = np.arange(-int(reach), int(reach) + 1)
    dy, dx = (a.ravel() for a in np.meshgrid(side, side, indexing="ij"))
    round_ = dx**2 + dy**2 <= reach**2
    dx, dy = dx[round_], dy[round_]
    middle = np.floor(places[shown])
    column = (middle[:, :1] + dx).astype(np.int32)
    row = (middle[:, 1:] + dy).astype(np.int32)
    off = np.stack([column + 0.5 - places[shown, :1], row + 0.5 - places[shown, 1:]], -1)
    value = level[:, None] * point_spread(off.astype(np.float32), core, reach)
    keep = (value > 2e-4) & (column >= 0) & (column < width) & (row >= 0) & (row < height)
    lamp = np.broadcast_to(shown[:, None].astype(np.int32), keep.shape)
    matrix = sparse.coo_array(
        (value[keep], ((row * width + column)[keep], lamp[keep])),
        shape=(width * height, len(xyz)),
        dtype=np.float32,
    ).tocsr()
    levels = np.zeros(len(xyz), np.float32)
    levels[shown] = level
    return matrix, places.astype(np.float32), levels


def _hidden(places: F, depth: F, raster: Raster) -> NDArray[np.bool_]:
    """Return (N,) whether something stands before a lamp, or it is behind the lens."""
    rows, columns = raster.depth.shape
    x, y = np.floor(places.T * raster.samples)
    inside = (x >= 0) & (x < columns) & (y >= 0) & (y < rows)
    hidden = depth <= 0.3
    found = raster.depth[y[inside].astype(int), x[inside].astype(int)]
    hidden[inside] |= found < depth[inside] - PROUD
    return hidden


def _room(places: F, core: float) -> F32:
    """Return (N,) the factor that keeps lamps seen close together from burning out.

    Only neighbours along the wire are asked: a rail seen end-on is what piles up.
    """
    total = np.ones(len(places))
    for step in range(1, min(ALONG, len(places))):
        apart = ((places[step:] - places[:-step]) ** 2).sum(1)
        overlap = np.exp(-np.minimum(apart / (2 * core**2), 50))
        total[step:] += overlap
        total[:-step] += overlap
    return np.asarray(total**-GIVE, np.float32)
