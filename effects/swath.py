"""Waves of light that cross the house in a compass direction."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import Angle, Length, Speed


def swath(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    speed: Annotated[float, Speed("how fast the waves move", low=-30, high=30)] = 1.5,
    length: Annotated[float, Length("from one crest to the next", low=0.1, high=200)] = 6.0,
    heading: Annotated[
        float, Angle("where they go: 0 to the right, 90 away from the street", low=-7, high=7)
    ] = 0.0,
) -> Light:
    """Send waves of the palette across the house in one direction, however the wire runs."""
    metres = at.xyz[:, 0] * np.cos(heading) + at.xyz[:, 1] * np.sin(heading)
    return palette(metres / length - speed * t / length % 1.0)
