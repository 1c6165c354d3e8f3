"""The lamps' light on faces: irradiance by inverse square, Lambert's law and the beam."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.lamp import beam
from lumenmap.pictures.scene import Surface

F32 = NDArray[np.float32]

#: At most this many groups of neighbouring lamps shine separately on faces.
GROUPS = 512


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Places on one surface at which irradiance is kept, on a square mesh.

    ``origin`` (3,), ``axes`` (2, 3) unit vectors, ``step`` m.
    """

    origin: NDArray[np.float64]
    axes: NDArray[np.float64]
    step: float

    def flat(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return (…, 2) mesh coordinates of points on the surface."""
        return (points - self.origin) @ self.axes.T / self.step

    def solid(self, nodes: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return (K, 3) points of (K, 2) mesh nodes."""
        return self.origin + (nodes * self.step) @ self.axes


def grid(surface: Surface, step: float) -> Grid:
    """Lay a mesh on a surface, its first axis level."""
    level = np.cross([0.0, 0.0, 1.0], surface.normal)
    size = np.linalg.norm(level)
    across = level / size if size > 1e-6 else np.array([1.0, 0.0, 0.0])
    return Grid(surface.corners[0], np.stack([across, np.cross(surface.normal, across)]), step)


def irradiance(points: F32, normals: F32, lamps: F32, facing: F32) -> F32:
    """Return (P, L) irradiance at points per unit of each lamp's intensity straight ahead (1/m²).

    E = I(θ) cos φ / d²: the inverse-square and cosine laws of photometry (IES Lighting Handbook,
    fundamentals). Nearer than 2 cm a lamp is no point; the distance is held there.
    """
    to_lamp = lamps[None, :, :] - points[:, None, :]
    square = np.maximum(np.einsum("plk,plk->pl", to_lamp, to_lamp), 4e-4)
    onto = np.maximum(np.einsum("plk,pk->pl", to_lamp, normals), 0)
    out = -np.einsum("plk,lk->pl", to_lamp, facing)
    distance = np.sqrt(square)
    return np.asarray(beam(out / distance) * onto / (distance * square), np.float32)


def group_starts(edges: NDArray[np.int32]) -> NDArray[np.int64]:
    """Return where each group of neighbouring lamps begins: same edge, few enough groups."""
    count = len(edges)
    size = -(-count // GROUPS)
    new = np.ones(count, bool)
    new[1:] = edges[1:] != edges[:-1]
    starts = np.flatnonzero(new)
    run = np.arange(count) - np.repeat(starts, np.diff([*starts, count]))
    return np.flatnonzero(run % size == 0)


def wash_matrix(
    points: F32, normals: F32, lamps: F32, facing: F32, lit: F32, starts: NDArray[np.int64]
) -> F32:
    """Return (P, G): irradiance from each group of lamps when all its lamps shine at 1."""
    out = np.empty((len(points), len(starts)), np.float32)
    block = max(1, 2_000_000 // max(1, len(lamps)))
    for first in range(0, len(points), block):
        rows = slice(first, first + block)
        each = irradiance(points[rows], normals[rows], lamps, facing) * lit
        out[rows] = np.add.reduceat(each, starts, axis=1)
    return out
