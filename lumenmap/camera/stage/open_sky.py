"""`open_sky`: how much light of the sky and of the ground gets to what a photograph shows."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.stage.faces import Faces, opaque
from lumenmap.pictures.light.skylight import Spread, free_part, is_narrow, sky_part

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
    points, normals = [np.zeros((0, 3))], [np.zeros((0, 3))]
    asked = []
    for index in np.unique(faces.which[where]).tolist():
        rows = np.flatnonzero(where & (faces.which == index))
        normal = faces.normals[index]
        out[rows] = free_part(normal)
        if is_narrow(faces.surfaces[index]):
            continue
        spread = Spread.over(rows.astype(np.int32), where.shape[1])
        asked.append((rows, spread))
        points.append(faces.points.reshape(-1, 3)[rows[spread.chosen]].astype(float))
        normals.append(np.tile(normal, (len(spread.chosen), 1)))
    shades = opaque(faces.surfaces)
    parts = sky_part(np.concatenate(points), np.concatenate(normals), shades)
    first = 0
    for rows, spread in asked:
        last = first + len(spread.chosen)
        out[rows] = spread.between(parts[first:last])
        first = last
    sky = out.reshape(where.shape)
    below = (1 - faces.normals[:, 2]) / 2
    sky[where] += GROUND * below[faces.which[where]]
    return np.where(where, np.maximum(sky, LEAST), 0).astype(np.float32)
