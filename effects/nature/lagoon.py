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
    spacing: Annotated[
        Varying, Length("about how far apart the bright lines are", low=6 * IN, high=100 * FT)
    ] = 5 * FT,
    speed: Annotated[Varying, Speed("how fast the water moves", low=0, high=30 * FT)] = 1.6 * FT,
    least: Annotated[Varying, Share("light between the bright lines")] = 0.1,
) -> Light:
    """Ripple light over the house like the net of bright lines that sun throws under water.

    Found by: water, pool, underwater, reflection, reflections, ocean, sea, caustics,
    aquarium, mermaid.
    """
    gone, apart = moved(speed, t), now(spacing)
    total = np.zeros((len(t), len(at.xyz)))
    for east, north, up, pace in _TRAINS:
        metres = at.xyz[:, 0] * east + at.xyz[:, 1] * north + at.xyz[:, 2] * up
        total += np.sin(np.pi * ((metres - gone * pace) / apart))
    # Light gathers along lines: where the waves cancel, it is bright; the water between is deep.
    line = 1 / (1 + (total / 0.55) ** 2)
    # The water's own colour changes slowly along the house; its depth has the colour across.
    place = at.xyz[:, 0] / (9 * apart) + gone / (25 * apart)
    deep = dim(palette(place + 0.5), now(least) * (1 - line))
    deep += dim(palette(place + np.zeros_like(line)), line)
    return np.minimum(deep, 1.0, out=deep)
