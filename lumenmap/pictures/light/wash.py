"""The lamps' light on faces: irradiance by inverse square, Lambert's law, the beam, and shadow."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.lamp import beam
from lumenmap.pictures.scene.shadow import blocked
from lumenmap.pictures.scene.surface import Surface

F32 = NDArray[np.float32]
Ints = NDArray[np.int64]

#: At most about this many groups of neighbouring lamps shine separately on faces: on a house of
#: 400 pixels a group is 15 cm of rail, well under its distance from the wall's middle.
GROUPS = 200
#: The rail stands between its lamps and the board behind; this part still gets there.
PAST_RAIL = 0.10
#: Shadows are asked for once per stretch of lamps of about this length (m).
STRETCH = 0.6


def irradiance(points: F32, normals: F32, lamps: F32, facing: F32) -> F32:
    """Return (P, L) irradiance at points per unit of each lamp's intensity straight ahead (1/m²).

    E = I(θ) cos φ / d²: the inverse-square and cosine laws of photometry (IES Lighting Handbook,
    fundamentals). Nearer than 2 cm a lamp is no point; the distance is held there.
    """
    # Expanded into products of matrices: about three times as fast as differences of vectors.
    middle = lamps.mean(0)
    p, q = points - middle, lamps - middle
    square = (p * p).sum(1)[:, None] + (q * q).sum(1) - 2 * (p @ q.T)
    np.maximum(square, 4e-4, out=square)
    onto = normals @ q.T - (normals * p).sum(1)[:, None]
    np.maximum(onto, 0, out=onto)
    out = p @ facing.T - (q * facing).sum(1)
    distance = np.sqrt(square)
    out /= distance
    onto *= beam(out)
    onto /= distance
    onto /= square
    return np.asarray(onto, np.float32)


def group_starts(edges: NDArray[np.int32]) -> Ints:
    """Return where each group of neighbouring lamps begins: same edge, few enough groups."""
    count = len(edges)
    size = -(-count // GROUPS)
    new = np.ones(count, bool)
    new[1:] = edges[1:] != edges[:-1]
    starts = np.flatnonzero(new)
    run = np.arange(count) - np.repeat(starts, np.diff([*starts, count]))
    return np.flatnonzero(run % size == 0)


def wash_matrix(
    points: F32,
    normals: F32,
    lamps: F32,
    facing: F32,
    lit: F32,
    starts: Ints,
    shades: Sequence[Surface] = (),
) -> F32:
    """Return (P, G): irradiance from each group of lamps when all its lamps shine at 1."""
    out = np.empty((len(points), len(starts)), np.float32)
    stretch, middles = _stretches(lamps)
    block = max(1, 1_000_000 // max(1, len(lamps)))
    for first in range(0, len(points), block):
        rows = slice(first, first + block)
        each = irradiance(points[rows], normals[rows], lamps, facing)
        each *= lit
        if shades:
            off = points[rows].astype(np.float64) + 0.02 * normals[rows]
            dark = blocked(off, middles, shades)
            if dark.any():
                each[dark[:, stretch]] = 0
        out[rows] = np.add.reduceat(each, starts, axis=1) if each.shape[1] != len(starts) else each
    return out


def _stretches(lamps: F32) -> tuple[Ints, NDArray[np.float64]]:
    """Return (L,) which stretch each lamp is in, and the stretches' middles (S, 3)."""
    cell = np.floor(lamps / STRETCH).astype(np.int64)
    _, which = np.unique(cell, axis=0, return_inverse=True)
    which = which.ravel()
    count = np.bincount(which)
    middles = np.stack([np.bincount(which, lamps[:, k]) / count for k in range(3)], axis=1)
    return which, middles
