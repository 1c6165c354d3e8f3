"""How far points are from the nearest lamp."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]

#: Pairs of a point and a lamp worked on at once: few enough for the cache.
AT_ONCE = 1 << 17


def distance(points: F, lamps: F) -> F:
    """Return how far points (K, 3) are from the nearest of lamps (L, 3): (K,) m, or infinite."""
    out = np.full(len(points), np.inf)
    if not len(lamps):
        return out
    # Expanded into a matrix product, around the lamps' middle so that no digits are lost.
    middle = lamps.mean(0)
    p, q = points - middle, (lamps - middle).T
    size, own = (q * q).sum(0), (p * p).sum(1)
    step = max(1, AT_ONCE // len(lamps))
    for first in range(0, len(points), step):
        some = slice(first, first + step)
        least = (size - 2 * (p[some] @ q)).min(1) + own[some]
        out[some] = np.sqrt(np.maximum(least, 0))
    return out
