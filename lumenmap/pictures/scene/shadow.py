"""Whether walls and roofs block the light between two points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import Outlines, within
from lumenmap.pictures.inner import apart as pairs_apart
from lumenmap.pictures.inner import blocked as lines_blocked
from lumenmap.pictures.scene.surface import Surface

F = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Only these are large and opaque enough to count. Boards and soffits are narrow, but close to
#: lamps: without them an eave lights the porch below it, and the roof behind it.
OPAQUE = ("wall", "roof", "snow", "fascia", "soffit")
#: A post isn't wider than this (m): a row of lamps throws no shadow of it that anybody sees.
POST = 0.3
#: How far in front of a face counts as on it, not in front of it (m). House files are measured with
#: a tape; but lamps hang this near to boards and soffits.
MARGIN, CLOSE, CLOSE_KINDS = 0.06, 0.02, ("fascia", "soffit")
#: By a normal's longest axis: the two others, onto which its face projects largest.
FLAT: Ints = np.array([[1, 2], [0, 2], [0, 1]])


def occluders(surfaces: Sequence[Surface]) -> list[Surface]:
    """Return the faces that cast shadows: all large ones of the house."""
    large = [s for s in surfaces if s.kind in OPAQUE and s.name not in ("ground", "step")]
    wide = [
        s for s in large if s.kind != "fascia" or float(np.ptp(s.corners[:, :2], 0).max()) > POST
    ]
    return [s if s.whole is None else replace(s, corners=s.whole) for s in wide]


def blocked(
    starts: F, stops: F, faces: Sequence[Surface], near: float = MARGIN
) -> NDArray[np.bool_]:
    """Return (P, L): whether a face blocks the line from each of (P, 3) to each of (L, 3).

    Points within ``near`` (m) of a face's plane count as on it, not behind it; within a third of
    that for boards and soffits.
    """
    return lines_blocked(starts, stops, outlines(faces, near))


def outlines(faces: Sequence[Surface], near: float = MARGIN) -> Outlines:
    """Return faces as what light meets; ``near`` as in `blocked`."""
    normals = np.array([face.normal for face in faces], np.float64).reshape(-1, 3)
    levels = np.array([face.corners[0] @ face.normal for face in faces], np.float64)
    kept = FLAT[np.abs(normals).argmax(1)]
    counts = [len(face.corners) for face in faces]
    corners = np.concatenate([np.zeros((0, 3)), *(face.corners for face in faces)])
    return Outlines(
        np.column_stack([normals, levels]),
        np.array([_margin(face, near) for face in faces], np.float64),
        kept,
        np.cumsum([0, *counts], dtype=np.int64),
        np.take_along_axis(corners, np.repeat(kept, counts, axis=0), axis=1),
    )


def _margin(face: Surface, near: float) -> float:
    return near * (CLOSE / MARGIN if face.kind in CLOSE_KINDS else 1)


def apart(
    starts: NDArray[Any], stops: NDArray[Any], pairs: tuple[Ints, Ints], faces: Sequence[Surface]
) -> NDArray[np.bool_]:
    """Return (K,): whether a face is between the two of each pair of (P, 3) and (L, 3) m.

    ``pairs`` (K,), (K,) are the numbers of the starts and of the stops.
    """
    return pairs_apart(starts, stops, pairs, outlines(faces))


def inside(points: F, face: Surface) -> NDArray[np.bool_]:
    """Return whether (K, 3) points on a face's plane lie within its outline (even-odd)."""
    keep = FLAT[np.abs(face.normal).argmax()]
    return within(points[:, keep[0]], points[:, keep[1]], face.corners[:, keep])
