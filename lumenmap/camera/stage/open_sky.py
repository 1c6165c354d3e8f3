"""`open_sky`: how much of the sky's light gets to what a photograph shows, by the model.

Strategy: lines to places spread evenly over the sky, from a coarse grid of the photograph's pixels;
what isn't behind a wall, a roof or a board lights a face by the cosine of its angle. The ground
throws some light back at what faces it. Under eaves and in corners there is less of both.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.stage.faces import AT_ONCE, Faces, opaque
from lumenmap.pictures.scene.cast import Cast

F = NDArray[np.float64]
F32 = NDArray[np.float32]
B = NDArray[np.bool_]

#: Places in the sky: rings of equal area, and so many in each.
RINGS, AROUND = 5, 12
#: Radiance of the ground in the sun over that of the sky: lawns reflect 5 to 10 %, paths 25 %
#: (common practice, no source), and the sun adds two to five times the sky's light.
GROUND = 0.25
#: Narrower faces (m) are taken to be free: frames, sills, the rims of panels, boards.
NARROW = 0.3
#: The grid's step, as a part of the photograph's width.
STEP = 1 / 160
#: The weight of the face's mean against the grid's, and the least light.
FAR, LEAST = 1e-3, 0.02


def open_sky(faces: Faces, where: B) -> F32:
    """Return (H, W) the light of sky and ground on each pixel of a mask, 1 on open level ground.

    0 elsewhere. An even sky: a free wall gets half of what level ground gets.
    """
    from scipy.ndimage import gaussian_filter

    step = max(1, round(STEP * where.shape[1]))
    grid = np.zeros(where.shape, bool)
    grid[step // 2 :: step, step // 2 :: step] = True
    out = np.zeros(where.shape, np.float32)
    for index in np.unique(faces.which[where]).tolist():
        mine = where & (faces.which == index)
        if _narrow(faces.surfaces[index].corners):
            out[mine] = _free(faces.normals[index])
            continue
        some = mine & grid if (mine & grid).sum() > 4 else mine
        rows, columns = (np.flatnonzero(mine.any(axis)) for axis in (1, 0))
        box = (slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1))
        level, weight = np.zeros(where.shape, np.float32)[box], some[box].astype(np.float32)
        level[some[box]] = _level(faces, some, faces.normals[index])
        usual = float(level.sum() / weight.sum())  # far from the grid, at a rim
        smooth = gaussian_filter(level, step) + FAR * usual
        smooth /= gaussian_filter(weight, step) + FAR
        out[box][mine[box]] = np.maximum(smooth, LEAST)[mine[box]]
    return out


def _narrow(corners: F) -> bool:
    """Return whether a flat face is a strip: its area by its longest diagonal."""
    area = np.linalg.norm(np.cross(corners, np.roll(corners, -1, axis=0)).sum(0)) / 2
    return bool(area < NARROW * np.linalg.norm(np.ptp(corners, axis=0)))


def _free(normal: F) -> float:
    """Return the light on a face that nothing stands before."""
    return float((1 + normal[2]) / 2 + GROUND * (1 - normal[2]) / 2)


def _level(faces: Faces, where: B, normal: F) -> F:
    """Return (K,) the light of sky and ground on pixels (H, W) of one face."""
    points, shades = faces.points[where], opaque(faces.surfaces)
    out = np.full(len(points), GROUND * (1 - normal[2]) / 2)
    for first in range(0, len(points), AT_ONCE):
        some = points[first : first + AT_ONCE]
        cast = Cast(some, np.broadcast_to(normal, some.shape), shades)
        for towards in _SKY[_SKY @ normal > 0]:
            out[first : first + AT_ONCE] += cast.lit(towards) * (towards @ normal) * 2 / len(_SKY)
    return out


def _sky() -> F:
    """Return directions (K, 3) in the middles of equal parts of the sky."""
    up = np.repeat((np.arange(RINGS) + 0.5) / RINGS, AROUND)
    turn = np.tile((np.arange(AROUND) + 0.5) / AROUND, RINGS)
    turn += up / AROUND  # rings aren't in line
    across = np.sqrt(1 - up**2)
    angle = 2 * np.pi * turn
    return np.stack([across * np.cos(angle), across * np.sin(angle), up], axis=1)


_SKY = _sky()
