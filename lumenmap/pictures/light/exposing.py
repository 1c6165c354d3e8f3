"""`exposing`: the exposure at which a house's lamps are as bright as pictures can show well."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.light.mesh import LAMBERT, grid
from lumenmap.pictures.light.wash import group_starts, wash_matrix
from lumenmap.pictures.scene.ambient import LUMINANCE, STRENGTH
from lumenmap.pictures.scene.lamp import Lamps
from lumenmap.pictures.scene.look import Look, Time
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.shadow import inside
from lumenmap.pictures.scene.sky import SKIES
from lumenmap.pictures.scene.surface import Surface, area_of
from lumenmap.site import Site

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: The exposure puts this share (`BRIGHT`) of the faces that lamps light from close by (`NEAR`, m)
#: below this light: the knee of the tone curve is at 0.45.
AIM, BRIGHT, NEAR = 0.40, 0.75, 1.5
#: Least and most exposure: with more, dusk would look like day, and a house with very little light
#: isn't to look well lit. Chosen by eye.
LEAST, MOST = 0.4, {"dusk": 1.6, "night": 2.5}
#: Fainter faces aren't lit (luminance, in units of the picture's light).
LIT = 0.004
#: Step between the points of faces at which light is measured (m), and the most of them.
STEP, POINTS = 0.25, 3000


def exposing(site: Site, time: Time, white: F32) -> float:
    """Return the exposure for a time of day at which ``white`` (N, 3) light is bright."""
    faces = [s for s in scene(site.house, Look(time, trees=False)) if s.kind in ("wall", "soffit")]
    step = _step(faces)
    places, _ = lamp_places(site)
    points, normals, colours = _close(faces, [_spots(face, step) for face in faces], places)
    level = (_from_lamps(site, white, points, normals) * colours) @ LUMINANCE
    lit = level > LIT
    if not lit.any():
        return 1.0
    # An upright wall has half the sky in front of it.
    ambient = colours[lit] @ (LUMINANCE * SKIES[time].ambient) / 2
    bright = float(np.quantile(level[lit] + ambient, BRIGHT))
    return float(np.clip(AIM / bright, LEAST, MOST[time]))


def _close(faces: list[Surface], spots: list[F], places: F) -> tuple[F, F, F]:
    """Return points close to a lamp, their normals and their reflectances, each (P, 3)."""
    points = np.concatenate([*spots, np.zeros((0, 3))])
    which = np.repeat(np.arange(len(faces)), [len(each) for each in spots])
    # Squared distances as a matrix product; a tree would be no quicker for so few points.
    far = (places**2).sum(1) - 2 * points @ places.T
    close = np.flatnonzero(far.min(1) + (points**2).sum(1) < NEAR**2)
    normals, colours = (
        np.array(each, np.float64).reshape(-1, 3)[which[close]]
        for each in ([f.normal for f in faces], [f.colour for f in faces])
    )
    return points[close], normals, colours


def _step(faces: list[Surface]) -> float:
    """Return the step between points that gives at most about `POINTS`."""
    area = sum(map(area_of, faces))
    return max(STEP, math.sqrt(area / POINTS))


def _spots(face: Surface, step: float) -> F:
    """Return points (K, 3) on a face, at the centres of the squares of a grid."""
    squares = grid(face, step)
    flat = squares.flat(face.corners)
    across, up = (np.arange(lo + 0.5, hi) for lo, hi in zip(flat.min(0), flat.max(0), strict=True))
    nodes = np.stack(np.meshgrid(across, up, indexing="ij"), -1).reshape(-1, 2)
    points = squares.origin + (nodes * squares.step) @ squares.axes
    return points[inside(points, face)] if len(points) else points.reshape(0, 3)


def _from_lamps(site: Site, white: F32, points: F, normals: F) -> F:
    """Return (P, 3) radiance of white faces with every lamp at its ``white`` (N, 3).

    Without shadows: nothing is in the way of lamps so close.
    """
    places, aims = lamp_places(site)
    lamps = Lamps(*(a.astype(np.float32) for a in (places, aims, site.pixels.lit)))
    starts = group_starts(site.pixels.edge)
    at, facing = points.astype(np.float32), normals.astype(np.float32)
    wash = wash_matrix(at, facing, lamps, starts) * (STRENGTH * LAMBERT)
    counts = np.diff([*starts, len(places)])
    light = np.add.reduceat(white, starts, axis=0) / counts[:, None]
    return np.asarray(wash @ light, np.float64)
