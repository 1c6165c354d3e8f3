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
    spacing: Annotated[
        Varying, Length("about how far apart the flecks are", low=3 * IN, high=50 * FT)
    ] = 18 * IN,
    size: Annotated[Varying, Length("size of a fleck", low=1 * IN, high=10 * FT)] = 13 * IN,
    amount: Annotated[Varying, Share("how many of the flecks fall")] = 1.0,
    least: Annotated[Varying, Share("light between flecks")] = 0.08,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Let flecks fall past the house like snow, near ones before far ones.

    Found by: snow, snowflakes, snowfall, snowing, flurry, blizzard, petals, leaves,
    falling, ash, flakes.
    """
    apart = now(spacing)
    shape = (len(t), len(at.xyz))
    level, colour = np.zeros(shape), np.zeros(shape)
    for far, own in enumerate((seed, seed + 1)):
        # The far ones are smaller, dimmer and slower, as they seem to be.
        scale = 1 - 0.3 * far
        across = (at.xyz[:, 0] + 0.37 * at.xyz[:, 1] - scale * moved(wind, t)) / apart
        fallen = scale * moved(fall, t)
        for neighbour in (-1, 0, 1):
            light, place, lot = _flecks(across, at.xyz[:, 2], fallen, neighbour, own, apart)
            light = np.exp(-np.minimum(light / (scale * now(size) / 2) ** 2, 50.0)) * scale**2
            # Each fleck comes at an amount of its own; at 1 all are there.
            light *= np.clip((now(amount) * 1.05 - lot) / 0.05, 0, 1)
            colour = np.where(light > level, place, colour)
            level = np.maximum(level, light)
    return dim(palette(colour), now(least) + (1 - now(least)) * level)


def _flecks(
    across: F, up: F, fallen: F, neighbour: int, seed: int, apart: float | F
) -> tuple[F, F, F]:
    """Return the square of how far a column's fleck is (m²), its place in 0..1, and a lot.

    In coordinates that move with the wind and the fall the flecks are still, one in each cell.
    """
    column = np.floor(across).astype(np.int64) + neighbour
    own = chance.key(seed, column)
    # Flecks differ: a column falls at 0.75 to 1.25 of the speed.
    down = (up + fallen * (0.75 + 0.5 * chance.share(own))) / (2.2 * apart)
    row = np.floor(down).astype(np.int64)
    fleck = chance.key(own, row)
    x = column + 0.15 + 0.7 * chance.share(chance.key(fleck, 1))
    z = row + 0.25 + 0.5 * chance.share(chance.key(fleck, 2))
    off = ((across - x) * apart) ** 2 + ((down - z) * 2.2 * apart) ** 2
    return off, chance.share(chance.key(fleck, 3)), chance.share(chance.key(fleck, 4))
