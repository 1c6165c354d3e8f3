"""What a mass fills: the room inside its walls up to the roof, and the roof's own thickness."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.model import Mass, Points
from lumenmap.house.roofs import roof
from lumenmap.house.walls import BOARD

#: Nearer to a face than this (m) is on it rather than inside: what a tape and a model of straight
#: walls leave open; common practice, no source.
CLEARLY = 0.05


def inside(mass: Mass, points: Points, by: float = CLEARLY) -> NDArray[np.bool_]:
    """Return which places (N, 3) lie in a mass, ``by`` m or more from each of its faces.

    The roof is `BOARD` thick, as it is drawn, out to the end of its overhang; under an open roof
    on posts there is nothing.
    """
    shape = roof(mass)
    level = points - np.array([*mass.position, mass.base])
    c, s = np.cos(mass.heading), np.sin(mass.heading)
    x, y, z = level[:, 0] * c + level[:, 1] * s, level[:, 1] * c - level[:, 0] * s, level[:, 2]
    # How far in from the nearest wall, and from the roof's rim; below the roof's upper face.
    walls = np.minimum.reduce([x, mass.width - x, y, mass.depth - y])
    below = (shape.height(x, y) - z) / np.hypot(1, shape.mass.slope)
    thick = BOARD / np.hypot(1, shape.mass.slope)
    in_roof = (walls + mass.overhang >= by) & (below >= by) & (thick - below >= by)
    in_room = (walls >= by) & (below >= by) & (z >= 0)
    return np.asarray(in_roof | in_room if mass.walls else in_roof)
