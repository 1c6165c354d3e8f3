"""Leaves and needles: drawn as sheets, lit as what faces in every direction."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]

#: What is lit so.
LEAVES = ("tree", "shrub")


def lit_from(points: F, lamps: F) -> F:
    """Return (K, 3) unit vectors from points to the average direction of the lamps' light."""
    out = np.empty_like(points)
    for first in range(0, len(points), 512):
        way = lamps - points[first : first + 512, None]
        way /= np.maximum((way**2).sum(-1, keepdims=True), 0.01) ** 1.5
        out[first : first + 512] = way.sum(1)
    return unit(out)


def unit(ways: F) -> F:
    """Return vectors (K, 3) as unit vectors."""
    size = np.linalg.norm(ways, axis=1, keepdims=True)
    return np.asarray(ways / np.maximum(size, 1e-12))


def thrown(cosine: F) -> F:
    """Return the part of the light that leaves throw to the eye, of what a sheet across it would.

    Of leaves in every direction, few face both the lamps and the eye. What they reflect follows
    Lambert's law of a sphere's phases, 2/3 (sin a + (pi - a) cos a) / pi [M]; they let through
    about as much [M], which goes to the other side of each leaf: the law of pi - a.

    Parameters
    ----------
    cosine
        Of the angle a between the directions to the lamps and to the eye.
    """
    angle = np.arccos(np.clip(cosine, -1, 1))
    return _phase(angle) + _phase(np.pi - angle)


def _phase(angle: F) -> F:
    return np.asarray(2 / (3 * np.pi) * (np.sin(angle) + (np.pi - angle) * np.cos(angle)))
