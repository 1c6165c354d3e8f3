"""Whether walls and roofs stand between two places."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.surface import Surface

F = NDArray[np.float64]

#: Only these are large and opaque enough to be asked.
OPAQUE = ("wall", "roof", "snow")


def occluders(surfaces: Sequence[Surface]) -> list[Surface]:
    """Return the faces that throw shadows: walls and roofs, whatever lies on them."""
    return [s for s in surfaces if s.kind in OPAQUE and s.name not in ("ground", "step")]


def blocked(
    starts: F, stops: F, faces: Sequence[Surface], margin: float = 0.06
) -> NDArray[np.bool_]:
    """Return (P, L): whether a face crosses the way from each of (P, 3) to each of (L, 3).

    Ends within ``margin`` (m) of a face's plane count as on it, not behind it.
    """
    out = np.zeros((len(starts), len(stops)), bool)
    for face in faces:
        level = face.corners[0] @ face.normal
        a, b = starts @ face.normal - level, stops @ face.normal - level
        for side in (1, -1):
            rows = np.flatnonzero(side * a > margin)
            columns = np.flatnonzero(side * b < -margin)
            if not (len(rows) and len(columns)):
                continue
            part = a[rows, None] / (a[rows, None] - b[None, columns])
            hit = starts[rows, None, :] + part[..., None] * (
                stops[None, columns, :] - starts[rows, None, :]
            )
            out[np.ix_(rows, columns)] |= inside(hit.reshape(-1, 3), face).reshape(part.shape)
    return out


def inside(points: F, face: Surface) -> NDArray[np.bool_]:
    """Return whether (K, 3) points on a face's plane lie within its outline (even-odd)."""
    keep = np.delete(np.arange(3), int(np.argmax(np.abs(face.normal))))
    flat, outline = points[:, keep], face.corners[:, keep]
    found = np.zeros(len(points), bool)
    for p, q in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        if p[1] == q[1]:
            continue
        spans = (p[1] > flat[:, 1]) != (q[1] > flat[:, 1])
        cross = p[0] + (flat[:, 1] - p[1]) * ((q[0] - p[0]) / (q[1] - p[1]))
        found ^= spans & (flat[:, 0] < cross)
    return found
