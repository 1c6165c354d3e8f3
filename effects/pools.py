"""Soft pools of light, each breathing at its own pace."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Duration, Length, Seed, Share, Way
from lumenmap.motion.shapes import bump, there_and_back
from lumenmap.motion.ways import measure


def pools(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    spacing: Annotated[
        float, Length("from the middle of one pool to the next", low=6 * IN, high=100 * FT)
    ] = 5 * FT,
    width: Annotated[float, Length("how wide a pool is", low=2 * IN, high=200 * FT)] = 5 * FT,
    period: Annotated[float, Duration("one breath, on average", low=1, high=600)] = 6.0,
    least: Annotated[float, Share("the level it fades to")] = 0.08,
    way: Annotated[str, Way("what the pools are spaced along")] = "edge",
    seed: Annotated[int, Seed("which pool breathes how")] = 0,
) -> Light:
    """Lay soft pools of light at even distances, each breathing at a pace of its own."""
    metres = measure(at, way).metres
    number = np.floor(metres / spacing).astype(np.int64)
    key = chance.key(seed, number)
    # Paces from 0.7 to 1.3 of the period's, starting anywhere in a breath.
    turn = t / period * (0.7 + 0.6 * chance.share(key)) + chance.share(chance.key(key, 1))
    level = least + (1 - least) * there_and_back(turn) ** 2
    level *= bump((metres / spacing - number - 0.5) * 2 * spacing / width)
    return dim(palette.stop(np.broadcast_to(number, level.shape)), level)
