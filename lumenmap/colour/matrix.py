"""Colour matrices: multiplying by them, and those between sRGB's primaries and CIE X, Y, Z.

Products are summed term by term and not by a matrix library, so that tables made from them are
the same to the last bit wherever they are made.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

F = NDArray[np.float64]
Matrix = tuple[tuple[float, float, float], ...]

#: sRGB's primaries and white (IEC 61966-2-1) to X, Y, Z and back: the fractions of CSS Color 4.
SRGB_TO_XYZ: Matrix = (
    (506752 / 1228815, 87881 / 245763, 12673 / 70218),
    (87098 / 409605, 175762 / 245763, 12673 / 175545),
    (7918 / 409605, 87881 / 737289, 1001167 / 1053270),
)
XYZ_TO_SRGB: Matrix = (
    (12831 / 3959, -329 / 214, -1974 / 3959),
    (-851781 / 878810, 1648619 / 878810, 36519 / 878810),
    (705 / 12673, -2585 / 12673, 705 / 667),
)


def times(matrix: Matrix, v: ArrayLike) -> F:
    """Return ``matrix @ v`` over the last axis, summed in one fixed order."""
    x = np.asarray(v, np.float64)
    return np.stack([r[0] * x[..., 0] + r[1] * x[..., 1] + r[2] * x[..., 2] for r in matrix], -1)
