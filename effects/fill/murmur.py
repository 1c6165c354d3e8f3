"""Every patch drifts through the palette by itself."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.noise import field
from lumenmap.motion.options import FT, IN, Duration, Length, Seed, Share


def murmur(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    size: Annotated[
        float, Length("size of a patch that drifts together", low=2 * IN, high=100 * FT)
    ] = 2 * FT,
    period: Annotated[float, Duration("about how long a colour lasts", low=0.5, high=600)] = 5.0,
    least: Annotated[float, Share("light of the darkest patches")] = 0.2,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Let every patch of the house drift through the palette slowly, by itself.

    Found by: lava, clouds, blobs, plasma, dream, ambient, mood, drifting, calm, smoke,
    nebula.
    """
    colour = field(at, t, size, period, seed) * 1.6
    level = 1 - (1 - least) * (1 - field(at, t, size, period * 0.62, seed + 1)) ** 2
    return dim(palette(colour), np.clip(level, 0, 1))
