"""A patch of light that swings."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.mix import mix
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Duration, Length, Way
from lumenmap.motion.shapes import bump, smooth, there_and_back
from lumenmap.motion.ways import measure


def pendulum(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    period: Annotated[float, Duration("there and back", low=0.8, high=600)] = 5.0,
    width: Annotated[float, Length("how wide the patch is", low=2 * IN, high=300 * FT)] = 6 * FT,
    way: Annotated[str, Way("what it swings along")] = "across",
) -> Light:
    """Swing a patch of light to and fro, slow at its turns."""
    distance = measure(at, way)
    # The patch turns with its edge at the way's end; where it is wider than the way, it stands.
    room = np.maximum(distance.whole - width, 0.0)
    swing = there_and_back(t / period)
    centre = np.minimum(width, distance.whole) / 2 + room * swing
    # Each swing takes the next colour; one goes over into the other while the patch turns.
    swings = np.broadcast_to(2 * t / period, (len(t), len(at.xyz)))
    number = np.round(swings)
    part = smooth((swings - number) / 0.3 + 0.5)
    light = mix(palette.stop(number - 1), palette.stop(number), part)
    return dim(light, bump((distance.metres - centre) / (width / 2)))
