"""`open_sky`: how much light of the sky and of the ground gets to what a photograph shows."""

from __future__ import annotations

from functools import partial

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.stage.faces import Faces, opaque
from lumenmap.pictures.light.skylight import Patch, free_part, is_narrow, patch_parts

F = NDArray[np.float64]
F32 = NDArray[np.float32]
B = NDArray[np.bool_]

#: Radiance of the ground in the sun over that of the sky: lawns reflect 5 to 10 %, paths 25 %
#: (common practice, no source), and the sun adds two to five times the sky's light.
GROUND = 0.25
#: The least light.
LEAST = 0.02


def open_sky(faces: Faces, where: B) -> F32:
    """Return (H, W) the light of sky and ground on each pixel of a mask, 1 on open level ground.

    0 elsewhere. Under eaves and in corners there is less of it.
    """
    out = np.zeros(where.size, np.float32)
    points = faces.points.reshape(-1, 3)
    patches: list[Patch] = []
    for index in np.unique(faces.which[where]).tolist():
        rows = np.flatnonzero(where & (faces.which == index)).astype(np.int32)
        normal = faces.normals[index]
        out[rows] = free_part(normal)
        if not is_narrow(faces.surfaces[index]):
            patches.append(Patch(rows, normal, partial(_places, points, rows)))
    parts = patch_parts(patches, where.shape[1], opaque(faces.surfaces))
    for patch, part in zip(patches, parts, strict=True):
        out[patch.pixels] = part
    sky = out.reshape(where.shape)
    below = (1 - faces.normals[:, 2]) / 2
    sky[where] += GROUND * below[faces.which[where]]
    return np.where(where, np.maximum(sky, LEAST), 0).astype(np.float32)


def _places(points: F32, rows: NDArray[np.int32], chosen: NDArray[np.int64]) -> F:
    return points[rows[chosen]].astype(np.float64)
