"""The image of each lamp in the picture: its point spread, without hidden lamps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import SparseRows
from lumenmap.pictures.scene.camera import Camera, measure_of
from lumenmap.pictures.scene.lamp import Lamps, beam, point_spread
from lumenmap.pictures.scene.raster import Raster

F = NDArray[np.float64]
F32 = NDArray[np.float32]
Ints = NDArray[np.int32]

#: A lamp this far behind the surface in the picture is still visible: rails protrude (m).
PROTRUDES = 0.15
#: Radius of a lamp's core and reach of its glare, relative to the measure of the picture, and the
#: least (pixels).
CORE, REACH = 1 / 520, 1 / 20
LEAST = (0.62, 3.0)
#: Brightness of a lamp's core at full, before exposure: far above what a screen can show.
PEAK = 8.0
#: Where cores overlap in the picture, each is dimmed by this power of their sum.
OVERLAP = 0.75
#: Neighbours on each side that may overlap.
NEIGHBOURS = 16
#: Numbers worked on at once: bounds the memory.
AT_ONCE = 1 << 17
_NOTHING = (np.zeros(0, np.float32), np.zeros(0, np.int32), np.zeros(0, np.int32))


def core_and_reach(width: int, height: int) -> tuple[float, float]:
    """Return the radius of a lamp's core, and the reach of its glare, in pixels."""
    measure = measure_of(width, height)
    return max(LEAST[0], CORE * measure), max(LEAST[1], REACH * measure)


def lamp_images(lamps: Lamps, raster: Raster, camera: Camera) -> tuple[SparseRows, F32, F32]:
    """Return the sparse (H·W, N) matrix from lamps to pixels of the picture.

    Also return each lamp's position in the picture (N, 2), and the brightness of its core (N,), 0
    if it isn't visible.
    """
    width, height = camera.width, camera.height
    places, depth = camera.project(lamps.xyz.astype(np.float64))
    core, reach = core_and_reach(width, height)
    near = (places > -reach).all(1) & (places < np.array([width, height]) + reach).all(1)
    shown = np.flatnonzero(near & (lamps.lit > 0) & ~_hidden(places, depth, raster))
    towards = camera.position - lamps.xyz[shown]
    towards /= np.maximum(np.linalg.norm(towards, axis=1, keepdims=True), 1e-9)
    level = beam(np.einsum("nk,nk->n", towards, lamps.facing[shown]).astype(np.float32))
    level *= PEAK * _overlap(places[shown], core)
    side = np.arange(-int(reach), int(reach) + 1)
    dy, dx = (a.ravel() for a in np.meshgrid(side, side, indexing="ij"))
    disc = dx**2 + dy**2 <= reach**2
    dx, dy = dx[disc], dy[disc]
    spots: list[tuple[F32, Ints, Ints]] = []
    step = max(1, AT_ONCE // len(dx))
    for first in range(0, len(shown), step):
        some = slice(first, first + step)
        middle = np.floor(places[shown[some]])
        column = (middle[:, :1] + dx).astype(np.int32)
        row = (middle[:, 1:] + dy).astype(np.int32)
        off = [column + 0.5 - places[shown[some], :1], row + 0.5 - places[shown[some], 1:]]
        value = level[some, None] * point_spread(np.stack(off, -1).astype(np.float32), core, reach)
        keep = (value > 2e-4) & (column >= 0) & (column < width) & (row >= 0) & (row < height)
        lamp = np.broadcast_to(shown[some, None].astype(np.int32), keep.shape)
        spots.append((value[keep], (row * width + column)[keep], lamp[keep]))
    value, pixel, lamp = map(np.concatenate, zip(*spots, strict=True)) if spots else _NOTHING
    matrix = SparseRows.gathered(pixel, lamp, value, (width * height, len(lamps.xyz)))
    levels = np.zeros(len(lamps.xyz), np.float32)
    levels[shown] = level
    return matrix, places.astype(np.float32), levels


def _hidden(places: F, depth: F, raster: Raster) -> NDArray[np.bool_]:
    """Return (N,) whether a surface hides a lamp, or it is behind the lens."""
    rows, columns = raster.surface.shape
    x, y = np.floor(places.T * raster.samples)
    inside = (x >= 0) & (x < columns) & (y >= 0) & (y < rows)
    hidden = depth <= 0.3
    found = raster.depth(y[inside].astype(int), x[inside].astype(int))
    hidden[inside] |= found < depth[inside] - PROTRUDES
    return hidden


def _overlap(places: F, core: float) -> F32:
    """Return (N,) factors that keep lamps close together in the picture from overexposing.

    Only neighbours along the wire count, for a rail seen end-on.
    """
    total = np.ones(len(places))
    for step in range(1, min(NEIGHBOURS, len(places))):
        apart = ((places[step:] - places[:-step]) ** 2).sum(1)
        overlap = np.exp(-np.minimum(apart / (2 * core**2), 50))
        total[step:] += overlap
        total[:-step] += overlap
    return np.asarray(total**-OVERLAP, np.float32)
