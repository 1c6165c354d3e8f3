"""A mesh of nodes on visible faces, which hold irradiance, and how the picture mixes them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import SparseRows
from lumenmap.pictures.light.leaves import LEAVES, lit_from, thrown, unit
from lumenmap.pictures.light.mix import Mix
from lumenmap.pictures.light.nearest_lamp import distance
from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.fragments import Fragments
from lumenmap.pictures.scene.shadow import inside
from lumenmap.pictures.scene.surface import Surface, seen_side
from lumenmap.solids.planes import level_axes

F = NDArray[np.float64]
F32 = NDArray[np.float32]
Ints = NDArray[np.int32]

#: Mesh step in pixels of the picture at the middle of a face, and its limits (m).
STEP_PX = 5.5
STEP_M = (0.05, 0.5)
#: Beyond this distance from all lamps, faces stay dark (m).
REACH = 11.0
#: Length over which light fades out there (m).
FADE = 4.0
#: Radiance per irradiance of a white Lambertian face is 1/π.
LAMBERT = 1 / np.pi
#: Small parts, which get a coarse mesh.
SMALL = ("trim", "door", "post", "lantern")
#: What lamps may be right next to; within this many steps of a lamp the step is halved, and so on.
FINE, BESIDE, LEVELS = ("soffit", "roof", "snow", "wall"), 2.5, 2


class Mesh(NamedTuple):
    """P nodes, and how the pixels of the picture mix them.

    Attributes
    ----------
    mix
        (H·W, P) sparse.
    points, normals, colours
        (P, 3) m, the visible side, and reflectance / π.
    behind
        (P,) whether the face is behind a rail.
    """

    mix: SparseRows
    points: F32
    normals: F32
    colours: F32
    behind: NDArray[np.bool_]


class Grid(NamedTuple):
    """A square grid on a surface: ``origin`` (3,), ``axes`` (2, 3), ``step`` (m)."""

    origin: F
    axes: F
    step: float

    def flat(self, points: F) -> F:
        """Return (…, 2) grid coordinates of points on the surface."""
        return np.asarray((points - self.origin) @ self.axes.T / self.step)

    def solid(self, nodes: NDArray[Any]) -> F:
        """Return (K, 3) points of (K, 2) grid coordinates."""
        return np.asarray(self.origin + (nodes * self.step) @ self.axes)


def grid(surface: Surface, step: float) -> Grid:
    """Return a grid on a surface, its first axis level."""
    return Grid(surface.corners[0], level_axes(surface.normal), step)


def mesh(surfaces: Sequence[Surface], seen: Fragments, detail: F32, lamps: F) -> Mesh:
    """Make the mesh on the visible faces near the lamps."""
    camera = seen.camera
    made, near = _Nodes(camera), _Near(seen, lamps)
    for index, surface in enumerate(surfaces):
        if surface.kind in ("glass", "curtain", "lantern"):
            continue
        pixel, at, factor = near.of(index, surface, detail)
        if not len(at):
            continue
        depth = np.median((at - camera.position) @ camera.turn[2])
        step = float(np.clip(STEP_PX * depth / camera.focal, *STEP_M))
        if surface.kind in ("ground", "snow", "street") and surface.normal[2] > 0.99:
            step *= 2
        if surface.kind in SMALL:
            step = max(step, 0.25)
        for rows, squares in _grids(surface, step, at, lamps):
            flat = squares.flat(at[rows])
            nodes, corners = _bilinear(flat)
            held = _Held(len(nodes))
            for where, share in corners:
                made.mix_in(pixel[rows], where, share * factor[rows])
                held.add(where, share, flat)
            made.add(surface, squares.solid(held.on(surface, squares, nodes)), lamps)
    return made.mesh()


class _Nodes:
    """The nodes of one face after another, and how pixels of the picture mix them."""

    def __init__(self, camera: Camera) -> None:
        self._camera = camera
        self._mix, self._count = Mix(camera.width * camera.height), 0
        none = np.zeros((0, 3), np.float32)
        self._points, self._normals, self._colours = [none], [none], [none]
        self._behind = [np.zeros(0, np.bool_)]

    def mix_in(self, pixel: Ints, node: Ints, weight: F) -> None:
        """Have pixels (K,) take light from the next face's nodes, numbered from 0."""
        self._mix.add(pixel, node + np.int32(self._count), weight.astype(np.float32))

    def add(self, surface: Surface, points: F, lamps: F) -> None:
        """Add a face's nodes (K, 3); lamps are what its leaves turn to."""
        colours = np.broadcast_to(np.asarray(surface.colour) * LAMBERT, points.shape)
        if surface.kind in LEAVES:
            normals = lit_from(points, lamps)
            eye = unit(self._camera.position - points)
            colours = colours * thrown((normals * eye).sum(1))[:, None]
        else:
            normals = np.broadcast_to(seen_side(surface, self._camera.position), points.shape)
        self._points.append(points.astype(np.float32))
        self._normals.append(normals.astype(np.float32))
        self._colours.append(colours.astype(np.float32))
        self._behind.append(np.full(len(points), surface.kind in ("fascia", "rail")))
        self._count += len(points)

    def mesh(self) -> Mesh:
        """Return all of it."""
        lists = (self._points, self._normals, self._colours)
        points, normals, colours = (np.concatenate(each) for each in lists)
        mix = self._mix.matrix(self._count)
        return Mesh(mix, points, normals, colours, np.concatenate(self._behind))


class _Near:
    """What is visible of surfaces near the lamps."""

    def __init__(self, seen: Fragments, lamps: F) -> None:
        self._seen = seen
        self._low = lamps.min(0) - REACH if len(lamps) else np.full(3, np.inf)
        self._high = lamps.max(0) + REACH if len(lamps) else np.full(3, -np.inf)

    def of(self, index: int, surface: Surface, detail: F32) -> tuple[Ints, F, F]:
        """Return pixels (K,), points (K, 3) m, and how much light arrives (K,) of one of them."""
        found = [(np.zeros(0, np.int32), np.zeros((0, 3)), np.zeros(0))]
        for rows in self._seen.of(index):  # some at a time: only what is near needs memory
            at = self._seen.points(surface, self._seen.rays(rows))
            close = np.flatnonzero(((at >= self._low) & (at <= self._high)).all(1))
            at = at[close]
            over = np.maximum(np.maximum(self._low - at, at - self._high).max(1) + FADE, 0)
            factor = (self._seen.weight(rows) * detail[rows])[close]
            factor = factor * np.maximum(1 - over / FADE, 0)
            found.append((self._seen.pixel[rows][close], at, factor))
        pixel, points, factors = (np.concatenate(each) for each in zip(*found, strict=True))
        return pixel, points, factors


def _grids(
    surface: Surface, step: float, at: F, lamps: F
) -> Iterator[tuple[NDArray[np.intp], Grid]]:
    """Yield which points (K, 3) of a surface use a grid, and the grid: finer next to lamps."""
    whole = grid(surface, step)
    level = np.zeros(len(at), np.int8)
    if surface.kind in FINE and len(at):
        # The squares of the whole grid that lie beside lamps are cut, each as one.
        square, which = _squares(whole.flat(at))
        far = distance(whole.solid(square + 0.5), lamps)
        cut = np.zeros(len(square), np.int8)
        for k in range(1, LEVELS + 1):
            cut[far < BESIDE * step / 2 ** (k - 1)] = k
        level = cut[which]
    for each in np.unique(level).tolist():
        yield np.flatnonzero(level == each), grid(surface, step / 2**each)


def _squares(flat: F) -> tuple[NDArray[np.int64], NDArray[np.intp]]:
    """Return the squares (S, 2) that points (K, 2) lie in, and which one each does (K,)."""
    corner = np.floor(flat).astype(np.int64)
    base = corner.min(0)
    span = int(corner[:, 1].max() - base[1]) + 1
    number, which = np.unique((corner - base) @ [span, 1], return_inverse=True)
    return np.stack(np.divmod(number, span), 1) + base, which


class _Held:
    """The middle of what each node of a grid lights."""

    def __init__(self, count: int) -> None:
        self._share = np.zeros(count)
        self._sum = np.zeros((count, 2))

    def add(self, where: Ints, share: F, flat: F) -> None:
        """Add points (K, 2), in grid coordinates, each lit by a node by its share."""
        count = len(self._share)
        self._share += np.bincount(where, share, count)
        for k in (0, 1):
            self._sum[:, k] += np.bincount(where, share * flat[:, k], count)

    def on(self, surface: Surface, squares: Grid, nodes: NDArray[np.int64]) -> F:
        """Return nodes (K, 2) moved on to the surface where they are outside of its outline.

        There they would be behind the next face, and in its shadow: a dark rim under an eave.
        """
        out = nodes.astype(np.float64)
        off = ~inside(squares.solid(nodes), surface) & (self._share > 0)
        out[off] = self._sum[off] / self._share[off, None]
        return out


def _bilinear(flat: F) -> tuple[NDArray[np.int64], Iterator[tuple[Ints, F]]]:
    """Return the nodes used (K, 2), and for each corner, the node and share of each point."""
    corner = np.floor(flat).astype(np.int64)
    u, v = (flat - corner).T
    base = corner.min(0)
    across, span = (int(n) for n in corner.max(0) - base + 2)
    first = (corner[:, 0] - base[0]) * span + (corner[:, 1] - base[1])
    steps = (0, span, 1, span + 1)
    if across * span > 32 * len(first) + 1_000_000:  # a sparse mesh: sort instead of marking
        kept = np.unique(np.concatenate([first + step for step in steps]))
        where = (np.searchsorted(kept, first + step).astype(np.int32) for step in steps)
    else:
        used = np.zeros(across * span, bool)
        for step in steps:
            used[first + step] = True
        kept = np.flatnonzero(used)
        number = np.cumsum(used, dtype=np.int32) - np.int32(1)
        where = (number[first + step] for step in steps)
    shares = (a * b for b in (1 - v, v) for a in (1 - u, u))
    return np.stack([kept // span, kept % span], axis=1) + base, zip(where, shares, strict=True)
