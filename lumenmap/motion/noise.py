"""Smooth noise in space and time, made from `chance`: no tables, no state, the same everywhere.

Values on a lattice are interpolated by smooth steps ("value noise"). All results are 0..1 with
mean 0.5.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lumenmap.motion import chance
from lumenmap.motion.at import At
from lumenmap.motion.kept import kept
from lumenmap.motion.shapes import smooth

F = NDArray[np.float64]
Key = NDArray[np.uint64]


def in_time(keys: Key, t: F, period: float) -> F:
    """Return noise (T, N) that takes a new value each ``period`` (s), for keys (N,)."""
    return _interpolated(t / period, lambda cell: chance.share(chance.key(keys, cell)), len(keys))


def field(at: At, t: F, size: float | Callable[[int], float], period: float, seed: int) -> F:
    """Return noise (T, N) with patches of ``size`` (m) that change each ``period`` (s).

    The size may be one for each number of a period: patches of that size come and go with it. A
    lattice that grew would race past whoever is far from its middle.
    """

    def values(cell: int) -> F:
        corners, weights = _lattice(at, size(cell) if callable(size) else size, seed)
        shares = chance.share(chance.key(corners, cell))
        total = weights[0] * shares[0]
        for i in range(1, 8):
            total += weights[i] * shares[i]
        return np.asarray(total)

    return _interpolated(t / period, values, len(at.xyz))


def _interpolated(turns: F, values: Callable[[int], F], count: int) -> F:
    """Interpolate the values of whole cells of time by smooth steps; each cell is computed once."""
    whole = np.floor(turns)
    part = smooth(turns - whole)
    cells = whole[:, 0].astype(np.int64)
    out = np.empty((len(turns), count))
    known: dict[int, F] = {}
    for row, cell in enumerate(cells.tolist()):
        for c in (cell, cell + 1):
            if c not in known:
                known[c] = values(c)
        np.subtract(known[cell + 1], known[cell], out=out[row])
        out[row] *= part[row]
        out[row] += known[cell]
    return out


@kept(64)
def _lattice(at: At, size: float, seed: int) -> tuple[Key, F]:
    """Return the eight lattice points (8, N) around each place, and their weights (8, N)."""
    scaled = at.xyz / size
    whole = np.floor(scaled)
    part = smooth(scaled - whole)
    base = whole.astype(np.int64)
    keys, weights = [], []
    for i in range(8):
        step = np.array([i & 1, i >> 1 & 1, i >> 2])
        point = base + step
        keys.append(chance.key(seed, point[:, 0], point[:, 1], point[:, 2]))
        share = np.where(step, part, 1 - part)
        weights.append(share[:, 0] * share[:, 1] * share[:, 2])
    return np.array(keys), np.array(weights)


def along(x: F, key: Key | int) -> F:
    """Return noise at any places ``x`` of a line, one value for each whole number."""
    whole = np.floor(x)
    part = smooth(x - whole)
    cell = whole.astype(np.int64)
    here = chance.share(chance.key(key, cell))
    return here + part * (chance.share(chance.key(key, cell + 1)) - here)


def pink(across: F, moment: F, patch: float | F, slowest: float, octaves: int, seed: int) -> F:
    """Return flames' noise (T, N) with mean 0 and deviation 1, whose power in time falls as 1/f.

    Octaves of equal power: each twice as quick as the one before, which is what makes the power
    fall as 1/f between 1/``slowest`` and 2**octaves/(16 ``slowest``) (Hz). Quicker octaves are
    wider: a flame moves slowly from place to place, but flickers as a whole.
    ``across`` (N,) and ``patch`` (or one for each frame, (T, 1)) in m,
    ``moment`` (T, N) in s.
    """
    total = np.zeros(moment.shape)
    for k in range(octaves):
        x = across / (patch * (1 + k / 2)) + 0.37 * k
        # Octaves lean left and right alternately, or their patches would change in step.
        y = moment * (2**k / slowest) + (-1) ** k * 0.8 * x
        total += flow(x, y, seed + 7919 * (k + 1))
    # An octave has mean 0.5 and variance 1/12 × 0.7429² (one factor for each interpolation).
    return np.asarray((total - octaves / 2) / (np.sqrt(octaves / 12) * 0.7429))


def flow(x: F, y: F, seed: int) -> F:
    """Return noise at any places of a plane (..., ), one value for each pair of whole numbers."""
    column, row = np.floor(x), np.floor(y)
    right, up = smooth(x - column), smooth(y - row)
    i, j = column.astype(np.int64), row.astype(np.int64)
    lower = _edge(i, j, right, seed)
    return np.asarray(lower + up * (_edge(i, j + 1, right, seed) - lower))


def _edge(i: NDArray[np.int64], j: NDArray[np.int64], part: F, seed: int) -> F:
    row = chance.key(seed, j)
    here = chance.share(chance.key(row, i))
    return np.asarray(here + part * (chance.share(chance.key(row, i + 1)) - here))
