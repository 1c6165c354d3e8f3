"""How much of what a small face can receive comes from a flat polygon: its form factor.

The contour integral of Lambert, as radiosity texts have it: F = Σ β (r₁ × r₂)·n / (2π |r₁ × r₂|)
over the polygon's sides, each seen under the angle β from its end r₁ to its end r₂ (Goral et al.
1984; Cohen and Wallace, "Radiosity and Realistic Image Synthesis", chapter 4 [M]).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]
F32 = NDArray[np.float32]


def form_factors(points: F32, normals: F32, corners: F32) -> F32:
    """Return (N,) the irradiance of each point by its polygon, per unit of its radiosity.

    Parameters
    ----------
    points, normals
        (N, 3) m, and unit vectors.
    corners
        (N, K, 3) m, the corners of a convex polygon for each point. What of it is behind the point
        doesn't count. Nothing is in between.
    """
    ways = corners - points[:, None]
    over = np.einsum("nkx,nx->nk", ways, normals)
    out = np.empty(len(points), np.float32)
    whole = over.min(1) >= 0
    out[whole] = _around(ways[whole], normals[whole])
    cut = ~whole
    out[cut] = _above(ways[cut], over[cut], normals[cut])
    np.abs(out, out=out)
    out /= np.float32(2 * np.pi)
    return out


def _around(ways: F32, normals: F32) -> F32:
    """Return (N,) the sum over the sides of polygons (N, K, 3) that are all in front."""
    last = ways.shape[1] - 1
    total = _side(ways[:, last], ways[:, 0], normals)
    for k in range(last):
        total += _side(ways[:, k], ways[:, k + 1], normals)
    return total


def _above(ways: F32, over: F32, normals: F32) -> F32:
    """Return (N,) the same of what is in front of polygons that are partly behind."""
    total = np.zeros(len(ways), np.float32)
    leaves, comes = (np.zeros((len(ways), 3), np.float32) for _ in range(2))
    count = ways.shape[1]
    for k in range(count):
        a, b = ways[:, k], ways[:, (k + 1) % count]
        high, low = over[:, k], over[:, (k + 1) % count]
        crosses = (high < 0) != (low < 0)
        part = np.divide(high, high - low, out=np.zeros_like(high), where=crosses)
        met = a + part[:, None] * (b - a)
        down, up = crosses & (high >= 0), crosses & (high < 0)
        leaves[down], comes[up] = met[down], met[up]
        first, second = (np.where(w[:, None], met, end) for w, end in ((up, a), (down, b)))
        total += np.where((high < 0) & (low < 0), 0, _side(first, second, normals))
    return np.asarray(total + _side(leaves, comes, normals), np.float32)


def _side(a: F32, b: F32, normals: F32) -> F32:
    """Return (N,) β (a × b)·n / |a × b| for sides from (N, 3) to (N, 3)."""
    (ax, ay, az), (bx, by, bz) = a.T, b.T
    x, y, z = ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx
    across = np.sqrt(x * x + y * y + z * z)
    along = ax * bx + ay * by + az * bz
    angle = np.arctan2(across, along)
    nx, ny, nz = normals.T
    angle *= x * nx + y * ny + z * nz
    return np.asarray(angle / np.maximum(across, np.float32(1e-12)), np.float32)
