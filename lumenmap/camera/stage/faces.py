"""`Faces`: what each pixel of a photograph shows by the model, and whether it is in the sun."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.cast import Cast
from lumenmap.pictures.scene.surface import Surface

F = NDArray[np.float64]
F32 = NDArray[np.float32]
B = NDArray[np.bool_]

#: What casts shadows in the sun.
OPAQUE = ("wall", "roof", "soffit", "fascia")
#: Points worked on at once: bounds the memory.
AT_ONCE = 1 << 15


@dataclass(frozen=True, slots=True, eq=False)
class Faces:
    """What each pixel of a photograph shows, by the model.

    Attributes
    ----------
    surfaces
        S of them.
    which
        (H, W) the surface, -1 for the sky.
    points
        (H, W, 3) m.
    normals
        (S, 3) of the sides that are seen.
    """

    surfaces: Sequence[Surface]
    which: NDArray[np.int16]
    points: F32
    normals: F

    def of(self, *kinds: str) -> B:
        """Return (H, W) whether a pixel shows a surface of these kinds."""
        chosen = np.array([*(s.kind in kinds for s in self.surfaces), False])
        return np.asarray(chosen[self.which])


def opaque(surfaces: Sequence[Surface]) -> list[Surface]:
    """Return what casts shadows in the sun: posts too, unlike in the light of rows of lamps."""
    dark = [s for s in surfaces if s.kind in OPAQUE]
    return [s if s.whole is None else replace(s, corners=s.whole) for s in dark]


def in_sun(towards: F, faces: Faces, where: B) -> B:
    """Return (K,) whether the sun shines on the pixels of a mask (H, W), by the model."""
    points, normals = faces.points[where], faces.normals[faces.which[where]]
    out, shades = np.zeros(len(points), bool), opaque(faces.surfaces)
    for first in range(0, len(points), AT_ONCE):
        some = slice(first, first + AT_ONCE)
        out[some] = Cast(points[some], normals[some], shades).lit(towards)
    return out
