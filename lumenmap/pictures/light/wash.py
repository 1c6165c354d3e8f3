"""The lamps' light on faces: irradiance by inverse square, Lambert's law, the beam, and shadow."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from lumenmap.core import parallel
from lumenmap.pictures.inner import shine
from lumenmap.pictures.scene.lamp import BEHIND, SIDEWAYS, Lamps
from lumenmap.pictures.scene.shadow import apart, blocked
from lumenmap.pictures.scene.surface import Surface

F32 = NDArray[np.float32]
Ints = NDArray[np.int64]

#: Neighbouring lamps light faces in groups, at most about this many: with 400 pixels a group is
#: 15 cm of rail, well under its distance from the middle of the wall.
GROUPS = 200
#: Share of the light that gets past the rail to the board behind it.
PAST_RAIL = 0.10
#: Shadows are calculated once for each stretch of lamps of about this length (m), and for each
#: lamp where the next stretch, not further than this from it, is seen and this one isn't.
STRETCH, BESIDE = 0.6, 1.0
#: Pairs of a point and a lamp that a thread works on at once: bounds the memory.
AT_ONCE = 500_000


def group_starts(edges: NDArray[np.int32]) -> Ints:
    """Return the first lamp of each group of neighbours; a group is on one edge."""
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
    lamps: Lamps,
    starts: Ints,
    shades: Sequence[Surface] = (),
) -> F32:
    """Return (P, G) irradiance from each group of lamps when all of them shine at 1 (1/m²).

    E = I(θ) cos φ / d²: the inverse-square and cosine laws of photometry (IES Lighting Handbook,
    fundamentals). Closer than 2 cm a lamp isn't a point; the distance is clamped there.
    """
    out = np.empty((len(points), len(starts)), np.float32)
    stretch, middles = _stretches(lamps.xyz)
    pairs = _neighbours(lamps.xyz, stretch)
    given = np.concatenate([lamps.xyz.T, lamps.facing.T, lamps.lit[None]])

    def fill(rows: slice) -> None:
        hidden = None
        if shades:
            off = points[rows].astype(np.float64) + 0.02 * normals[rows]
            dark = blocked(off, middles, shades)
            if dark.any():
                hidden = _dark(dark, off, lamps.xyz, (stretch, pairs), shades)
        out[rows] = shine(points[rows], normals[rows], given, starts, hidden, (SIDEWAYS, BEHIND))

    block = max(1, AT_ONCE // max(1, len(lamps.xyz)))
    blocks = [slice(first, first + block) for first in range(0, len(points), block)]
    # Nearly all of it is done in loops that don't hold Python's lock.
    with ThreadPoolExecutor(parallel.processors()) as several:
        for _ in several.map(fill, blocks):
            pass
    return out


def _neighbours(lamps: F32, stretch: Ints) -> Ints:
    """Return (K, 2) which stretches are next to each other on the wire."""
    close = np.linalg.norm(np.diff(lamps, axis=0), axis=1) < BESIDE
    pairs = np.sort(np.stack([stretch[:-1], stretch[1:]], axis=1)[close], axis=1)
    return np.unique(pairs[pairs[:, 0] != pairs[:, 1]], axis=0)


def _dark(
    dark: NDArray[np.bool_],
    points: NDArray[np.float64],
    lamps: F32,
    parts: tuple[Ints, Ints],
    shades: Sequence[Surface],
) -> NDArray[np.bool_]:
    """Return (P, L) whether each lamp is hidden, from (P, S) whether its stretch is.

    Where the shadow of an edge falls between two stretches, each lamp is looked at by itself:
    otherwise the edges of shadows have steps.
    """
    stretch, pairs = parts
    change = np.zeros_like(dark)
    for a, b in pairs:
        differ = dark[:, a] ^ dark[:, b]
        change[:, a] |= differ
        change[:, b] |= differ
    hidden = dark[:, stretch]
    row, lamp = np.nonzero(change[:, stretch])
    hidden[row, lamp] = apart(points, lamps, (row, lamp), shades)
    return hidden


def _stretches(lamps: F32) -> tuple[Ints, NDArray[np.float64]]:
    """Return (L,) the stretch of each lamp, and the centres of the stretches (S, 3)."""
    cell = np.floor(lamps / STRETCH).astype(np.int64)
    _, which = np.unique(cell, axis=0, return_inverse=True)
    which = which.ravel()
    count = np.bincount(which)
    middles = np.stack([np.bincount(which, lamps[:, k]) / count for k in range(3)], axis=1)
    return which, middles
