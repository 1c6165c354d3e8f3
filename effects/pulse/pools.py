"""Soft pools of light, each breathing at its own pace."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Duration, Length, Seed, Share, Way
from lumenmap.motion.shapes import smooth, there_and_back
from lumenmap.motion.varying import Varying, now, turned
from lumenmap.motion.ways import measure


def pools(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    spacing: Annotated[
        Varying, Length("from the middle of one pool to the next", low=6 * IN, high=100 * FT)
    ] = 7 * FT,
    width: Annotated[
        Varying, Length("how wide a pool is, at most three spacings", low=2 * IN, high=200 * FT)
    ] = 12 * FT,
    period: Annotated[Varying, Duration("average time of one breath", low=1, high=600)] = 7.0,
    least: Annotated[Varying, Share("the level it fades to")] = 0.04,
    way: Annotated[str, Way("what the pools are spaced along")] = "edge",
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Space soft pools of light evenly, each breathing at its own pace.

    Found by: glow, puddles, spots, spotlights, lanterns, bubbles, soft, globes, uplights.
    """
    place = measure(at, way).metres / now(spacing)
    reach = np.minimum(now(width) / now(spacing), 3.0) / 2
    breaths, dark = turned(period, t), now(least)
    first = np.floor(place).astype(np.int64) - 1
    # What is drawn by lot is drawn once for each pool, not for each place in it.
    pools = np.arange(first.min(initial=0), first.max(initial=0) + 3)
    key = chance.key(seed, pools)
    # Paces from 0.7 to 1.3 of the period's, starting anywhere in a breath.
    turn = breaths * (0.7 + 0.6 * chance.share(key)) + chance.share(chance.key(key, 1))
    breath = dark + (1 - dark) * there_and_back(turn) ** 2
    frames = np.arange(len(t))[:, None]
    total = np.zeros((len(t), len(at.xyz), 3), np.float32)
    # Pools that are wider than their spacing flow into each other.
    for neighbour in range(3):
        number = first + neighbour
        level = breath[frames, number - pools[0]] * smooth(1 - np.abs(place - number - 0.5) / reach)
        total += dim(palette.stop(np.broadcast_to(number, level.shape)), level)
    return np.minimum(total, 1.0, out=total)
