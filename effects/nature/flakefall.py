"""Falling flecks that pass the pixels at their true heights."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Length, Seed, Share, Speed
from lumenmap.motion.varying import Varying, moved, now


def flakefall(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    fall: Annotated[Varying, Speed("how fast they fall", low=0.1 * FT, high=60 * FT)] = 2.5 * FT,
    wind: Annotated[
        Varying, Speed("how fast the wind blows them to the right", low=-60 * FT, high=60 * FT)
    ] = 0.8 * FT,
    spread: Annotated[
        Varying, Length("about how far apart the flecks are", low=3 * IN, high=50 * FT)
    ] = 1 * FT,
    size: Annotated[Varying, Length("size of a fleck", low=1 * IN, high=10 * FT)] = 8 * IN,
    amount: Annotated[Varying, Share("how many of the flecks fall")] = 1.0,
    least: Annotated[Varying, Share("light between flecks")] = 0.0,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Let flecks fall past the house; each lights the pixels that it passes."""
    apart = now(spread)
    # In coordinates that move with the wind and the fall the flecks are still, one in each cell.
    across = (at.xyz[:, 0] + 0.37 * at.xyz[:, 1] - moved(wind, t)) / apart
    level = np.zeros((len(t), len(at.xyz)))
    colour = np.zeros(level.shape)
    column = np.floor(across).astype(np.int64)
    for neighbour in (-1, 0, 1):
        own = chance.key(seed, column + neighbour)
        # Flecks differ: a column falls at 0.75 to 1.25 of the speed.
        pace = 0.75 + 0.5 * chance.share(own)
        down = (at.xyz[:, 2] + moved(fall, t) * pace) / (3 * apart)
        row = np.floor(down).astype(np.int64)
        fleck = chance.key(own, row)
        x = column + neighbour + 0.15 + 0.7 * chance.share(chance.key(fleck, 1))
        z = row + 0.25 + 0.5 * chance.share(chance.key(fleck, 2))
        off = ((across - x) * apart) ** 2 + ((down - z) * 3 * apart) ** 2
        # Each fleck comes at an amount of its own, not all at once; at 1 all are there.
        there = np.clip((now(amount) * 1.05 - chance.share(chance.key(fleck, 4))) / 0.05, 0, 1)
        light = there * np.exp(-np.minimum(off / (now(size) / 2) ** 2, 50.0))
        colour = np.where(light > level, chance.share(chance.key(fleck, 3)), colour)
        level = np.maximum(level, light)
    return dim(palette(colour), now(least) + (1 - now(least)) * level)
