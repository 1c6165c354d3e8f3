"""A level that rises up the house and falls again."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Duration, Length, Share
from lumenmap.motion.shapes import smooth, there_and_back
from lumenmap.motion.varying import Varying, now, turned


def tide(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    period: Annotated[Varying, Duration("from one high tide to the next", low=2, high=3600)] = 16.0,
    soft: Annotated[Varying, Length("height over which the surface fades", low=0, high=10 * FT)] = 9
    * IN,
    waves: Annotated[Varying, Length("height of the waves on the surface", low=0, high=10 * FT)] = 6
    * IN,
    least: Annotated[Varying, Share("light above the surface")] = 0.0,
) -> Light:
    """Let a level of light rise up the house and fall again, with small waves.

    Found by: flood, rise, rising, level, tank, thermometer, volume, bottom to top, sunrise
    up, filling up.
    """
    high, blur = now(waves), now(soft)
    height = at.xyz[:, 2] - at.low[2]
    whole = max(float(at.high[2] - at.low[2]), 1e-3) + 2 * high + blur
    # Two trains of waves that cross each other, 11 ft and 7 ft long.
    ripple = np.sin(2 * np.pi * (at.xyz[:, 0] / (11 * FT) - t / 2.9)) + np.sin(
        2 * np.pi * ((at.xyz[:, 0] + at.xyz[:, 1]) / (7 * FT) + t / 2.3)
    )
    surface = whole * there_and_back(turned(period, t)) - high - blur + high / 2 * ripple
    level = now(least) + (1 - now(least)) * smooth((surface - height) / np.maximum(blur, 1e-3) + 1)
    # The palette's last colour is at the surface, its first at the bottom.
    depth = np.clip((surface - height) / whole, 0, 1)
    return dim(palette((1 - depth) * palette.stops[-1].at), level)
