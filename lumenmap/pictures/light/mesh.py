"""A mesh of nodes on visible faces, which hold irradiance, and how the picture mixes them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.fragments import Fragments
from lumenmap.pictures.scene.surface import Surface, seen_side

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: Mesh step in pixels of the picture at the middle of a face, and its limits (m).
STEP_PX = 5.5
STEP_M = (0.05, 0.5)
#: Beyond this distance from all lamps, faces stay dark (m).
REACH = 11.0
#: Length over which light fades out there (m).
FADE = 4.0
#: Radiance per irradiance of a white Lambertian face is 1/π.
LAMBERT = 1 / np.pi
#: Faces that set the exposure; and small parts, which get a coarse mesh.
LARGE = ("wall", "soffit", "ground", "snow", "step", "path")
SMALL = ("trim", "door", "post", "lantern")
#: Leaves and needles face in every direction, though they are drawn as sheets.
LEAVES = ("tree", "shrub")


class Mesh(NamedTuple):
    """P nodes, and how the pixels of the picture mix them.

    Attributes
    ----------
    mix
        (H·W, P) sparse.
    points, normals, colours
        (P, 3) m, the visible side, and reflectance / π.
    area
        (P,) pixels of the picture that a node lights, on the faces that set the exposure.
    behind
        (P,) whether the face is behind a rail.
    """

    mix: sparse.csr_array
    points: F32
    normals: F32
    colours: F32
    area: F32
    behind: NDArray[np.bool_]


class Grid(NamedTuple):
    """A square grid on a surface: ``origin`` (3,), ``axes`` (2, 3), ``step`` (m)."""

    origin: F
    axes: F
    step: float

    def flat(self, points: F) -> F:
        """Return (…, 2) grid coordinates of points on the surface."""
        return np.asarray((points - self.origin) @ self.axes.T / self.step)

    def solid(self, nodes: NDArray[np.int64]) -> F:
        """Return (K, 3) points of (K, 2) nodes."""
        return np.asarray(self.origin + (nodes * self.step) @ self.axes)


def grid(surface: Surface, step: float) -> Grid:
    """Return a grid on a surface, its first axis level."""
    level = np.cross([0.0, 0.0, 1.0], surface.normal)
    size = np.linalg.norm(level)
    across = level / size if size > 1e-6 else np.array([1.0, 0.0, 0.0])
    return Grid(surface.corners[0], np.stack([across, np.cross(surface.normal, across)]), step)


def mesh(
    surfaces: Sequence[Surface], seen: Fragments, detail: F32, camera: Camera, lamps: F
) -> Mesh:
    """Make the mesh on the visible faces near the lamps."""
    size = camera.width * camera.height
    low = lamps.min(0) - REACH if len(lamps) else np.full(3, np.inf)
    high = lamps.max(0) + REACH if len(lamps) else np.full(3, -np.inf)
    behind: list[NDArray[np.bool_]] = []
    parts: list[tuple[NDArray[np.int64], NDArray[np.int64], F]] = []
    points, normals, colours, areas, count = [], [], [], [], 0
    for index, rows, at in seen.points(surfaces, camera):
        surface = surfaces[index]
        close = np.flatnonzero(((at >= low) & (at <= high)).all(1))
        if not len(close) or surface.kind in ("glass", "curtain", "lantern"):
            continue
        depth = float(np.median((at[close] - camera.position) @ camera.turn[2]))
        step = float(np.clip(STEP_PX * depth / camera.focal, *STEP_M))
        if surface.kind in ("ground", "snow", "street") and surface.normal[2] > 0.99:
            step *= 2
        if surface.kind in SMALL:
            step = max(step, 0.25)
        squares = grid(surface, step)
        nodes, where, share = _bilinear(squares.flat(at[close]))
        pixel = seen.pixel[rows][close]
        over = np.maximum(np.maximum(low - at[close], at[close] - high).max(1) + FADE, 0)
        factor = (seen.weight[rows] * detail[rows])[close] * np.maximum(1 - over / FADE, 0)
        parts.append((np.tile(pixel, 4), where + count, share * np.tile(factor, 4)))
        points.append(squares.solid(nodes))
        if surface.kind in LEAVES:
            normals.append(_towards(points[-1], lamps))
        else:
            normals.append(np.broadcast_to(seen_side(surface, camera.position), (len(nodes), 3)))
        colours.append(np.broadcast_to(np.asarray(surface.colour) * LAMBERT, (len(nodes), 3)))
        large = surface.kind in LARGE
        areas.append(np.bincount(where, share * large, len(nodes)))
        behind.append(np.full(len(nodes), surface.kind in ("fascia", "rail")))
        count += len(nodes)
    if not parts:
        empty = np.zeros((0, 3), np.float32)
        return Mesh(
            sparse.csr_array((size, 0), dtype=np.float32),
            empty,
            empty,
            empty,
            empty[:, 0],
            np.zeros(0, bool),
        )
    row, column, weight = (np.concatenate(p) for p in zip(*parts, strict=True))
    mix = sparse.coo_array((weight.astype(np.float32), (row, column)), shape=(size, count)).tocsr()
    lists = (points, normals, colours, areas)
    a, b, c, d = (np.concatenate(each).astype(np.float32) for each in lists)
    return Mesh(mix, a, b, c, d, np.concatenate(behind))


def _towards(points: F, lamps: F) -> F:
    """Return (K, 3) unit vectors from points to the average direction of the lamps' light."""
    out = np.empty_like(points)
    for first in range(0, len(points), 512):
        way = lamps - points[first : first + 512, None]
        way /= np.maximum((way**2).sum(-1, keepdims=True), 0.01) ** 1.5
        out[first : first + 512] = way.sum(1)
    size = np.linalg.norm(out, axis=1, keepdims=True)
    return np.asarray(out / np.maximum(size, 1e-12))


def _bilinear(flat: F) -> tuple[NDArray[np.int64], NDArray[np.int64], F]:
    """Return the nodes used (K, 2), and index and share of the four nodes around each point."""
    corner = np.floor(flat).astype(np.int64)
    u, v = (flat - corner).T
    base = corner.min(0)
    across, span = corner.max(0) - base + 2
    first = (corner[:, 0] - base[0]) * span + (corner[:, 1] - base[1])
    key = np.concatenate([first, first + span, first + 1, first + span + 1])
    share = np.concatenate([(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v])
    if across * span > 8 * len(key) + 1_000_000:  # a sparse mesh: sort instead of marking
        kept, where = np.unique(key, return_inverse=True)
    else:
        used = np.zeros(across * span, bool)
        used[key] = True
        kept = np.flatnonzero(used)
        where = (np.cumsum(used) - 1)[key]
    return np.stack([kept // span, kept % span], axis=1) + base, where, share
