"""Every patch drifts through the palette by itself."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.noise import field
from lumenmap.motion.options import FT, IN, Duration, Length, Seed, Share
from lumenmap.motion.varying import Course, Varying, now, reached, turned, value_at


def murmur(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    size: Annotated[
        Varying, Length("size of a patch that drifts together", low=2 * IN, high=100 * FT)
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
    colour = field(at, turns, _sizes(size, period, 1.0), 1.0, seed) * 1.6
    shade = field(at, turns / 0.62, _sizes(size, period, 0.62), 1.0, seed + 1)
    level = 1 - (1 - now(least)) * (1 - shade) ** 2
    return dim(palette(colour), np.clip(level, 0, 1))


def _sizes(size: Varying, period: Varying, part: float) -> float | Callable[[int], float]:
    """Return the size of each generation of patches: as it is when they first show.

    A generation lasts for a ``part`` of the period, and shows from the one before on.
    """
    if not isinstance(size, Course):
        return size
    return lambda number: float(value_at(size, reached(period, (number - 1) * part)))
