"""Convex solids as half-spaces, and where a straight line is inside one or several.

A mass of a house is a few of them: its room up to the roof, and a slab for each roof plane.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]
#: A normal, of any length, and its offset.
HalfSpace = tuple[tuple[float, float, float], float]

#: A line that is nowhere deeper than this (m) runs along a face, not through the solid: the
#: accuracy of a tape and of straight walls; common practice, no source.
DEEP = 0.02
#: Passages nearer to each other than this (m) are one: between a roof's edge and the wall under it
#: a line may be outside for a little, where nothing can be fixed.
NEAR = 0.4


@dataclass(frozen=True, slots=True, eq=False)
class Convex:
    """The points p (3,) with ``normals @ p <= offsets``: normals (K, 3), unit; offsets (K,) m."""

    normals: F
    offsets: F

    def moved(self, rotation: F, by: F) -> Convex:
        """Return the solid rotated by a matrix (3, 3) and then moved ``by`` (3,) m."""
        normals = self.normals @ rotation.T
        return Convex(normals, self.offsets + normals @ by)

    def inside(self, points: F, depth: float) -> NDArray[np.bool_]:
        """Return which points (N, 3) are ``depth`` m or more from every face, inside."""
        return np.asarray((points @ self.normals.T <= self.offsets - depth).all(axis=1))

    def passage(self, start: F, stop: F) -> tuple[float, float] | None:
        """Return where a line (3,) to (3,) enters and leaves, m along it; None if it passes by.

        Cyrus and Beck's clipping. A line along a face passes by.
        """
        inside = self._clip(start, stop, 0.0)
        return inside if inside and self._clip(start, stop, DEEP) else None

    def _clip(self, start: F, stop: F, depth: float) -> tuple[float, float] | None:
        """Return the part of a line that is ``depth`` m or more inside every face."""
        length = float(np.linalg.norm(stop - start))
        slant = self.normals @ (stop - start) / length
        room = self.offsets - depth - self.normals @ start
        along = np.abs(slant) < 1e-9
        if (room[along] < 0).any():
            return None
        out, into = slant >= 1e-9, slant <= -1e-9
        low = max([0.0, *(room[into] / slant[into]).tolist()])
        high = min([length, *(room[out] / slant[out]).tolist()])
        return (low, high) if high > low else None


class Many:
    """Several convex solids, to be asked together which of them something may reach into."""

    def __init__(self, solids: Sequence[Convex]) -> None:
        self.solids = tuple(solids)
        self._normals = np.concatenate([s.normals for s in solids] or [np.zeros((0, 3))])
        self._offsets = np.concatenate([s.offsets for s in solids] or [np.zeros(0)])
        sizes = [len(s.offsets) for s in solids]
        self._starts = np.cumsum([0, *sizes])[:-1]

    def near(self, points: F) -> list[int]:
        """Return the numbers of the solids that aren't, by one of their sides, apart from points.

        The points are the corners (K, 3) of something convex.
        """
        if not self.solids:
            return []
        nearest = (self._normals @ points.T).min(axis=1) - self._offsets
        return np.flatnonzero(np.maximum.reduceat(nearest, self._starts) <= DEEP).tolist()


def half_spaces(*sides: HalfSpace) -> Convex:
    """Return the solid of sides ``(normal, offset)``; normals of any length, offsets to match."""
    normals = np.array([normal for normal, _ in sides], float)
    sizes = np.linalg.norm(normals, axis=1)
    return Convex(normals / sizes[:, None], np.array([offset for _, offset in sides]) / sizes)


def passages(solids: Sequence[Convex], points: F) -> list[tuple[float, float]]:
    """Return where a line through points (K, 3) is inside any of the solids, m along it."""
    found: list[tuple[float, float]] = []
    before = 0.0
    for start, stop in pairwise(points):
        length = float(np.linalg.norm(stop - start))
        if length > 0:
            own = (solid.passage(start, stop) for solid in solids)
            found += [(before + p[0], before + p[1]) for p in own if p]
        before += length
    joined: list[tuple[float, float]] = []
    for low, high in sorted(found):
        if joined and low <= joined[-1][1] + NEAR:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return joined
