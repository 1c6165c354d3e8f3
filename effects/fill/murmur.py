"""Every patch drifts through the palette by itself."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.noise import field
from lumenmap.motion.options import FT, IN, Duration, Length, Seed, Share
from lumenmap.motion.varying import Varying, now, turned


def murmur(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    size: Annotated[
        float,
        Length("size of a patch that drifts together", low=2 * IN, high=100 * FT, steady=True),
    ] = 2 * FT,
    period: Annotated[Varying, Duration("about how long a colour lasts", low=0.5, high=600)] = 5.0,
    least: Annotated[Varying, Share("light of the darkest patches")] = 0.2,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Let every patch of the house drift through the palette slowly, by itself.

    Found by: lava, clouds, blobs, plasma, dream, ambient, mood, drifting, calm, smoke,
    nebula.
    """
    turns = turned(period, t)
    colour = field(at, turns, size, 1.0, seed) * 1.6
    level = 1 - (1 - now(least)) * (1 - field(at, turns / 0.62, size, 1.0, seed + 1)) ** 2
    return dim(palette(colour), np.clip(level, 0, 1))
