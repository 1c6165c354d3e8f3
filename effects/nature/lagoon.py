"""Reflections of moving water."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Length, Share, Speed
from lumenmap.motion.varying import Varying, moved, now

#: Five trains of waves: direction × wave number (right, away, up), and pace; no two in step.
_TRAINS = (
    (1.00, 0.31, 0.22, 1.00),
    (-0.63, 0.74, 0.51, 0.83),
    (0.41, -0.88, 0.77, 1.21),
    (-1.37, -0.29, 0.93, 0.67),
    (0.19, 1.13, -1.29, 1.43),
)


def lagoon(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    size: Annotated[
        Varying, Length("about how far apart the bright lines are", low=6 * IN, high=100 * FT)
    ] = 4 * FT,
    speed: Annotated[Varying, Speed("how fast the water moves", low=0, high=30 * FT)] = 1.5 * FT,
    least: Annotated[Varying, Share("light between the bright lines")] = 0.05,
) -> Light:
    """Ripple light over the house like reflections of moving water."""
    gone, apart = moved(speed, t), now(size)
    total = np.zeros((len(t), len(at.xyz)))
    for east, north, up, pace in _TRAINS:
        metres = at.xyz[:, 0] * east + at.xyz[:, 1] * north + at.xyz[:, 2] * up
        total += np.sin(2 * np.pi * ((metres - gone * pace) / apart))
    # Light gathers where trains meet: bright lines are narrow, the water between them wide.
    gathered = np.clip(0.5 + total / (1.4 * len(_TRAINS)), 0, 1)
    level = now(least) + (1 - now(least)) * gathered**4
    # The water's own colour changes slowly along the house.
    return dim(palette(at.xyz[:, 0] / (7 * apart) + gone / (15 * apart)), level)
