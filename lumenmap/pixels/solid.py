"""The solid that a mass fills: the space inside its walls up to the roof, and the roof itself."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.model import Mass, Points
from lumenmap.house.roofs import roof
from lumenmap.house.walls import BOARD

#: A point nearer to a face than this (m) is on it rather than inside: the accuracy of a tape and
#: of straight walls; common practice, no source.
TOLERANCE = 0.05


def inside(mass: Mass, points: Points, depth: float = TOLERANCE) -> NDArray[np.bool_]:
    """Return which points (N, 3) are inside a mass, ``depth`` m or more from each of its faces.

    The roof is `BOARD` thick, as it is drawn, out to the end of its overhang. An open roof on
    posts has nothing under it.
    """
    shape = roof(mass)
    level = points - np.array([*mass.position, mass.base])
    c, s = np.cos(mass.rotate), np.sin(mass.rotate)
    x, y, z = level[:, 0] * c + level[:, 1] * s, level[:, 1] * c - level[:, 0] * s, level[:, 2]
    # Distances from the nearest wall and from the roof's upper face, positive inwards.
    walls = np.minimum.reduce([x, mass.width - x, y, mass.depth - y])
    below = (shape.height(x, y) - z) / np.hypot(1, shape.mass.slope)
    thick = BOARD / np.hypot(1, shape.mass.slope)
    in_roof = (walls + mass.overhang >= depth) & (below >= depth) & (thick - below >= depth)
    in_room = (walls >= depth) & (below >= depth) & (z >= 0)
    return np.asarray(in_roof | in_room if mass.walls else in_roof)
