"""`Cast`: which points of a house the sun shines on, for many directions of the sun."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import sunlit
from lumenmap.pictures.scene.shadow import MARGIN, outlines
from lumenmap.pictures.scene.surface import Surface

F = NDArray[np.float64]
F32 = NDArray[np.float32]
B = NDArray[np.bool_]

#: Shadows end somewhere: as far as anything of a house can throw one (m).
FAR = 60.0
#: Points are moved off their face by this (m).
OFF = 0.02


class Cast:
    """Points of a house, and what stands before them.

    Parameters
    ----------
    points, normals
        (K, 3) m, on faces, and the unit normals of the sides that are seen.
    shades
        The faces that cast shadows.
    """

    def __init__(self, points: F | F32, normals: F, shades: Sequence[Surface]) -> None:
        self._starts = points + OFF * normals
        self._normals = normals
        self._faces = outlines(shades)

    def lit(self, towards: F) -> B:
        """Return (K,) whether the sun shines there, from a direction (3,)."""
        return sunlit(self._starts, self._normals, towards, self._faces, (MARGIN, FAR))
