"""`sunlit`: where the sun shines by day, and where the house is in its way.

Strategy: a line towards the sun from the middle of each pixel of the picture. On the edges of
shadows, where a neighbour has another answer, the pixel is asked at many places, so that edges are
smooth.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.light.leaves import LEAVES
from lumenmap.pictures.scene.cast import Cast
from lumenmap.pictures.scene.fragments import Fragments
from lumenmap.pictures.scene.sky import SKIES, Sky
from lumenmap.pictures.scene.surface import Surface

F = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Places in a pixel on the edge of a shadow, each way.
PLACES = 4
#: How much of the sun leaves catch, which face in every direction.
CAUGHT = 0.45


def facing_sun(surface: Surface, sky: Sky) -> float:
    """Return the cosine between a face and the sun or moon, 0 where it faces away."""
    if surface.kind in LEAVES:
        return CAUGHT
    return max(0.0, float(surface.normal @ _towards(sky)))


def sunlit(
    surface: Surface, seen: Fragments, rows: slice, points: F, shades: Sequence[Surface]
) -> F:
    """Return how much of the sun gets to each fragment's point (K, 3) of a surface: (K,), 0..1."""
    if facing_sun(surface, SKIES["day"]) == 0:
        return np.zeros(len(points))
    lit = _in_sun(surface, points, shades).astype(np.float64)
    # Samples of a pixel on an outline are as fine already.
    edge = np.flatnonzero((seen.sample[rows] < 0) & _on_edge(seen, rows, lit > 0))
    y, x = np.divmod(seen.pixel[rows][edge], seen.camera.width)
    total = np.zeros(len(edge), np.int64)
    for down in (np.arange(PLACES) + 0.5) / PLACES:
        for across in (np.arange(PLACES) + 0.5) / PLACES:
            rays = seen.camera.rays(np.stack([x + across, y + down], axis=-1))
            total += _in_sun(surface, seen.points(surface, rays), shades)
    lit[edge] = total / PLACES**2
    return lit


def _towards(sky: Sky) -> F:
    towards = np.asarray(sky.towards, np.float64)
    return np.asarray(towards / np.linalg.norm(towards))


def _on_edge(seen: Fragments, rows: slice, lit: Bools) -> Bools:
    """Return which fragments (K,) have a neighbour among them that is lit otherwise."""
    if lit.all() or not lit.any():
        return np.zeros(len(lit), np.bool_)
    y, x = np.divmod(seen.pixel[rows], seen.camera.width)
    top, left = y.min() - 1, x.min() - 1
    # 0 is none of these, 1 in shade, 2 lit; a rim of none all round.
    state = np.zeros((y.max() - top + 2, x.max() - left + 2), np.uint8)
    y, x = y - top, x - left
    state[y, x] = 1 + lit
    own = state[y, x]
    edge = np.zeros(len(lit), np.bool_)
    for dy, dx in ((0, 1), (1, 0), (0, -1), (-1, 0)):
        other = state[y + dy, x + dx]
        edge |= (other > 0) & (other != own)
    return edge


def _in_sun(surface: Surface, points: F, shades: Sequence[Surface]) -> Bools:
    """Return (K,) whether no face is between points of a surface and the sun."""
    towards = _towards(SKIES["day"])
    side = towards if surface.kind in LEAVES else surface.normal
    return Cast(points, np.broadcast_to(side, points.shape), shades).lit(towards)
