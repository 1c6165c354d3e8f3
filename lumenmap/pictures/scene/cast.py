"""`Cast`: which points of a house the sun shines on, for many directions of the sun."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.shadow import MARGIN, inside
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
        self._shades = shades
        planes = np.array([s.normal for s in self._shades]).reshape(-1, 3)
        levels = np.array([s.corners[0] @ s.normal for s in self._shades])
        # (S, K) m from each point to the plane of each of S faces, along that face's normal.
        self._before = levels[:, None] - planes @ self._starts.T

    def lit(self, towards: F) -> B:
        """Return (K,) whether the sun shines there, from a direction (3,)."""
        lit = np.asarray(self._normals @ towards > 0)
        for before, shade in zip(self._before, self._shades, strict=True):
            slant = float(shade.normal @ towards)
            if abs(slant) < 1e-9:
                continue
            away = before if slant > 0 else -before
            rows = np.flatnonzero(lit & (away > MARGIN) & (away < FAR * abs(slant)))
            if len(rows):
                met = self._starts[rows] + (before[rows] / slant)[:, None] * towards
                lit[rows] = ~inside(met, shade)
        return lit
