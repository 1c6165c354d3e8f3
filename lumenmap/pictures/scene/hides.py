"""`hides`: what a house hides from somebody who looks at it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.model import House
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.shadow import MARGIN, blocked, occluders

F = NDArray[np.float64]


def hides(house: House, eyes: F, points: F, near: float = MARGIN) -> NDArray[np.bool_]:
    """Return (P, L): whether a house hides points (L, 3) from eyes (P, 3), in m.

    ``near`` as in `blocked`.
    """
    return blocked(eyes, points, occluders(scene(house, Look(trees=False))), near)
