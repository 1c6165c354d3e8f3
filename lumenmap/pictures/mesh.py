"""The mesh of nodes on visible faces at which irradiance is kept, and how pictures mix them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.pictures.camera import Camera
from lumenmap.pictures.raster import Raster
from lumenmap.pictures.scene import Surface
from lumenmap.pictures.wash import grid

F32 = NDArray[np.float32]

#: Mesh step in picture elements at the middle of a face, and its bounds in m.
STEP_PX = 4.0
STEP_M = (0.05, 0.6)
#: Ground further from all lamps than this is left dark (m).
REACH = 12.0
#: Radiance per irradiance of a white Lambertian face is 1/π.
LAMBERT = 1 / np.pi


class Mesh(NamedTuple):
    """``mix`` (H·W, P) sparse; ``points``, ``normals``, ``colours`` (P, 3)."""

    mix: sparse.csr_array
    points: F32
    normals: F32
    colours: F32


def mesh(
    surfaces: Sequence[Surface], raster: Raster, camera: Camera, lamps: NDArray[np.float64]
) -> Mesh:
    """Lay the mesh over what the picture sees near the lamps."""
    low = lamps.min(0) - REACH if len(lamps) else np.zeros(3)
    high = lamps.max(0) + REACH if len(lamps) else np.zeros(3)
    places = raster.places()
    entries: list[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]] = []
    points, normals, colours, count = [], [], [], 0
    for index, surface in enumerate(surfaces):
        rows, columns = np.nonzero(raster.surface == index)
        if not len(rows):
            continue
        depth = raster.depth[rows, columns].astype(np.float64)
        there = camera.position + camera.rays(places[rows, columns]) * depth[:, None]
        close = ((there >= low) & (there <= high)).all(1)
        if not close.any():
            continue
        rows, columns, there, depth = rows[close], columns[close], there[close], depth[close]
        step = float(np.clip(STEP_PX * np.median(depth) / camera.focal, *STEP_M))
        laid = grid(surface, 2 * step if surface.kind == "ground" else step)
        flat = laid.flat(there)
        corner = np.floor(flat).astype(np.int64)
        part = flat - corner
        element = (rows // raster.samples) * camera.width + columns // raster.samples
        nodes, weights = [], []
        for du, dv in ((0, 0), (1, 0), (0, 1), (1, 1)):
            nodes.append(corner + np.array([du, dv]))
            weights.append(
                (part[:, 0] if du else 1 - part[:, 0]) * (part[:, 1] if dv else 1 - part[:, 1])
            )
        every = np.concatenate(nodes)
        base = every.min(0)
        span = int(every[:, 1].max() - base[1]) + 1
        key = (every[:, 0] - base[0]) * span + (every[:, 1] - base[1])
        kept, where = np.unique(key, return_inverse=True)
        entries.append((np.tile(element, 4), where + count, np.concatenate(weights)))
        points.append(laid.solid(np.stack([kept // span, kept % span], 1) + base))
        normals.append(np.broadcast_to(surface.normal, (len(kept), 3)))
        colours.append(np.broadcast_to(np.asarray(surface.colour) * LAMBERT, (len(kept), 3)))
        count += len(kept)
    shape = (camera.width * camera.height, count)
    if not entries:
        empty = np.zeros((0, 3), np.float32)
        return Mesh(sparse.csr_array(shape, dtype=np.float32), empty, empty, empty)
    row, column, weight = (np.concatenate(part) for part in zip(*entries, strict=True))
    mix = sparse.coo_array(
        (weight.astype(np.float32) / raster.samples**2, (row, column)), shape=shape
    ).tocsr()
    return Mesh(mix, *(np.concatenate(a).astype(np.float32) for a in (points, normals, colours)))
