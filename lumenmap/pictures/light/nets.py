"""`Net`: a face in cells, with knots between them, for the light that faces throw on each other.

Lines lie at the face's corners and close together near them, since light changes quickly where
faces meet, and slowly in between. Knots are where lines cross; cells are finer than the squares
between lines.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.light.cells import Cells, cut, lines, squares
from lumenmap.pictures.light.mesh import Grid, grid
from lumenmap.pictures.light.nearest_lamp import distance
from lumenmap.pictures.light.wash import PAST_RAIL
from lumenmap.pictures.scene.shadow import inside
from lumenmap.pictures.scene.surface import Surface

F = NDArray[np.float64]
F32 = NDArray[np.float32]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

#: What throws light on other faces.
KINDS = ("wall", "roof", "snow", "soffit", "fascia", "ground")
#: Least and most distance of lines (m) on the ground, on roofs, and elsewhere.
GROUND, ROOF, HOUSE = (0.6, 3.0), (0.8, 2.5), (0.4, 1.6)
#: How far the ground around the house matters (m), and up to what height walls begin there (m).
AROUND, FOOT = 8.0, 0.5
#: Cells of faces with less reflectance than this may be longer, by its square root.
BRIGHT = 0.25
#: How far a knot is from where lines cross to the middle of its cells.
WITHIN = 0.05
#: Points that face the way of a net (cosine), this near to its plane (m), take its light.
ALIKE, BESIDE = 0.95, 0.3


class Net(NamedTuple):
    """Knots where lines cross, and cells between them.

    Attributes
    ----------
    surface, flat
        The face, and its coordinates in m.
    lines
        (A,) and (B,) coordinates of the lines.
    knots, held
        (A·B, 3) m, on the face, and whether each is: where lines cross beside the outline, the
        knot is in the nearest cell.
    corners, middles
        (C, 4, 3) and (C, 3) m, the cells.
    """

    surface: Surface
    flat: Grid
    lines: tuple[F, F]
    knots: F
    held: Bools
    corners: F
    middles: F

    def shares(self, points: F) -> tuple[Ints, F]:
        """Return the four knots around points (K, 3), and how much each counts; both (4, K)."""
        at = self.flat.flat(points)
        (i, p), (j, q) = (_between(self.lines[k], at[:, k]) for k in (0, 1))
        first = i * len(self.lines[1]) + j
        knots = np.stack(
            [first, first + 1, first + len(self.lines[1]), first + len(self.lines[1]) + 1]
        )
        weights = np.stack([(1 - p) * (1 - q), (1 - p) * q, p * (1 - q), p * q])
        # A point on a line beside the outline has no weight but that of knots which aren't held.
        weights = np.maximum(weights, 1e-6) * self.held[knots]
        return knots, weights / np.maximum(weights.sum(0), 1e-12)

    def away(self, points: F) -> F:
        """Return how far (K, 3) points are from the face (m), as far as its net reaches."""
        off = np.abs((points - self.surface.corners[0]) @ self.surface.normal)
        if self.surface.name == "ground":  # it goes on beyond its net
            return np.asarray(off)
        at = self.flat.flat(points)
        for k, line in enumerate(self.lines):
            off = off + np.maximum(np.maximum(line[0] - at[:, k], at[:, k] - line[-1]), 0)
        return np.asarray(off)


def nets(surfaces: Sequence[Surface], lamps: F32) -> list[Net]:
    """Return a net for each large face of the house, and for the ground around it."""
    large = [s for s in surfaces if s.kind in KINDS and s.name not in ("step", "path", "street")]
    house = [s for s in large if s.name != "ground"]
    if not house or not len(lamps):
        return []
    at = lamps.astype(np.float64)
    made = (_ground(s, at, house) if s.name == "ground" else _face(s, at) for s in large)
    return [net for net in made if net is not None]


def nearest(made: Sequence[Net], points: F32, normals: F32) -> Ints:
    """Return (K,) which net is nearest to each point on a face like its own, or -1."""
    best, which = np.full(len(points), BESIDE), np.full(len(points), -1)
    for number, net in enumerate(made):
        rows = np.flatnonzero(normals @ net.surface.normal.astype(np.float32) > ALIKE)
        off = net.away(points[rows].astype(np.float64))
        better = off < best[rows]
        best[rows[better]], which[rows[better]] = off[better], number
    return which


def _face(surface: Surface, lamps: F) -> Net | None:
    flat = grid(surface, 1.0)
    least, most = ROOF if surface.kind in ("roof", "snow") else HOUSE
    corners = flat.flat(surface.corners)
    u, v = (lines(np.unique(corners[:, k]), least, most) for k in (0, 1))
    return _net(surface, flat, (u, v), lamps, lambda at: inside(flat.solid(at), surface))


def _ground(surface: Surface, lamps: F, house: Sequence[Surface]) -> Net | None:
    """Make a net on the ground around faces, but not below the house."""
    flat = grid(surface, 1.0)
    foot = np.concatenate([np.stack([s.corners, np.roll(s.corners, -1, axis=0)], 1) for s in house])
    foot = foot[(foot[..., 2] < FOOT).all(1)]
    ends = flat.flat(foot if len(foot) else np.concatenate([s.corners for s in house]))
    u, v = (
        lines(np.unique([at.min() - AROUND, *at, at.max() + AROUND]), *GROUND)
        for at in ends.reshape(-1, 2).T
    )
    walls = flat.flat(foot)

    def on(at: F) -> Bools:
        return inside(flat.solid(at), surface) & ~_enclosed(at, walls)

    return _net(surface, flat, (u, v), lamps, on)


def _enclosed(at: F, walls: F) -> Bools:
    """Return whether lines (W, 2, 2) enclose points (K, 2); a line there twice is none."""
    odd = np.zeros(len(at), bool)
    x, y = at.T
    for p, q in walls:
        if p[1] != q[1]:
            spans = (p[1] > y) != (q[1] > y)
            odd ^= spans & (x < p[0] + (y - p[1]) * ((q[0] - p[0]) / (q[1] - p[1])))
    return odd


def _net(
    surface: Surface, flat: Grid, crossed: tuple[F, F], lamps: F, on: Callable[[F], Bools]
) -> Net | None:
    """Make a net of lines, or None if nothing between them is on the face."""
    bright = float(np.mean(surface.colour)) * (PAST_RAIL if surface.kind == "fascia" else 1)
    times = float(np.sqrt(max(BRIGHT / max(bright, 1e-3), 1)))
    cells = cut(squares(*crossed), on, lambda at: distance(flat.solid(at), lamps), times)
    kept = on(cells.middle)
    if not kept.any():
        return None
    wide = len(crossed[1])
    i, j = np.divmod(cells.square, wide - 1)
    rims = np.stack([i * wide + j, i * wide + j + 1, (i + 1) * wide + j, (i + 1) * wide + j + 1])
    parted = np.zeros(len(crossed[0]) * wide, bool)
    parted[rims[:, ~kept]] = True
    cells, rims = cells.of(kept), rims[:, kept]
    knots, held = _knots(crossed, cells, rims, parted)
    corners, middles = flat.solid(cells.corners), flat.solid(cells.middle)
    return Net(surface, flat, crossed, flat.solid(knots), held, corners, middles)


def _knots(crossed: tuple[F, F], cells: Cells, rims: Ints, parted: Bools) -> tuple[F, Bools]:
    """Return the knots (K, 2), and which have a cell.

    Where all squares of a knot are on the face, it is a little within them, else in the nearest
    cell. ``rims`` (4, C) are the knots of each cell's square.
    """
    crossings = np.stack(np.meshgrid(*crossed, indexing="ij"), -1).reshape(-1, 2)
    spots, count, knot = cells.middle, len(crossings), rims.ravel()
    spot = np.tile(np.arange(len(spots)), 4)
    far = np.linalg.norm(spots[spot] - crossings[knot], axis=1)
    order = np.argsort(-far, kind="stable")  # of several of a knot the nearest is written last
    closest = np.full(count, -1)
    closest[knot[order]] = spot[order]
    held = closest >= 0
    out = crossings.copy()
    out[held] = spots[closest[held]]
    times = np.maximum(np.bincount(knot, minlength=count), 1)
    middle = np.stack([np.bincount(knot, spots[spot, k], count) / times for k in (0, 1)], -1)
    clear = held & ~parted
    out[clear] = crossings[clear] + WITHIN * (middle - crossings)[clear]
    return out, held


def _between(line: F, at: F) -> tuple[Ints, F]:
    """Return the line before each of (K,) places, and how far it is to the next, 0..1."""
    before = np.clip(np.searchsorted(line, at, side="right") - 1, 0, len(line) - 2)
    part = (at - line[before]) / (line[before + 1] - line[before])
    return before, np.clip(part, 0, 1)
