"""The whole house swells and fades slowly."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import Duration, Share


def swell(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    period: Annotated[float, Duration("from one swell to the next", low=0.5, high=600)] = 6.0,
    least: Annotated[float, Share("the level it fades to")] = 0.05,
) -> Light:
    """Swell and fade all of the house, each time in the palette's next colour."""
    turn = t / period
    # Squared, since the eye sees equal steps of light as smaller the brighter it is.
    level = least + (1 - least) * (0.5 - 0.5 * np.cos(2 * np.pi * turn)) ** 2
    light = palette(np.broadcast_to(np.floor(turn) / len(palette.stops), (len(t), len(at.xyz))))
    return dim(light, level)
