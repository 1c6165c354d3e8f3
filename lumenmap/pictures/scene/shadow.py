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
    levels = [face.corners[0] @ face.normal for face in faces]
    return Outlines(
        np.array([[*f.normal, level] for f, level in zip(faces, levels, strict=True)], np.float64),
        np.array([_margin(face, near) for face in faces], np.float64),
        np.array([_flattened(face) for face in faces], np.int64),
        np.cumsum([0, *(len(face.corners) for face in faces)], dtype=np.int64),
        np.concatenate([np.zeros((0, 2)), *(f.corners[:, _flattened(f)] for f in faces)]),
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
    keep = _flattened(face)
    return within(points[:, keep[0]], points[:, keep[1]], face.corners[:, keep])


def _flattened(face: Surface) -> NDArray[np.int64]:
    """Return the two axes onto which a face projects largest."""
    return np.delete(np.arange(3), int(np.argmax(np.abs(face.normal))))
