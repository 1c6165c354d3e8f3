"""Sparks from a launch point."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, Corner, Duration, Seed, Speed
from lumenmap.motion.shapes import bell, norm, smooth
from lumenmap.motion.ways import point


def skyburst(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    every: Annotated[float, Duration("from one launch to the next", low=1, high=600)] = 1.9,
    start: Annotated[str, Corner("where they are launched from")] = "bottom",
    rise: Annotated[float, Duration("from launch to burst", low=0.2, high=10)] = 1.1,
    burst: Annotated[float, Speed("how fast the sparks fly apart", low=1 * FT, high=200 * FT)] = 22
    * FT,
    fade: Annotated[float, Duration("time in which the sparks die", low=0.1, high=20)] = 1.3,
    seed: Annotated[int, Seed("which of the possible nights")] = 0,
) -> Light:
    """Launch a spark that bursts over the house into a ball of sparks that sink and die."""
    level = np.zeros((len(t), len(at.xyz)))
    colour = np.zeros(level.shape)
    ground = point(at, start)
    latest = np.floor(t / every)
    for back in range(int(np.ceil((rise + 3 * fade) / every)) + 1):
        number = latest - back
        key = chance.key(seed, number.astype(np.int64))
        sky = (
            at.low
            + (at.high - at.low)
            * np.stack([chance.share(chance.key(key, axis)) for axis in range(3)], -1)
            * np.array([1.0, 0.3, 0.5])
            + np.array([0, 0, 0.5]) * (at.high - at.low)
        )
        light = _one(at, ground, sky, t - number * every, key, rise, burst, fade)
        colour = np.where(light > level, chance.share(chance.key(key, 9)), colour)
        level = np.maximum(level, light)
    return dim(palette(colour), np.clip(level, 0, 1))


#: Standard gravity, m/s².
_GRAVITY = 9.80665
#: Sparks are light, and air stops them: their speed falls to 37 % in this time (s).
_DRAG = 0.45


def _one(
    at: At, ground: F, sky: F, since: F, key: chance.Key, rise: float, burst: float, fade: float
) -> F:
    """Return the level (T, N) of the launch that is ``since`` (T, 1) s old, bursting at (T, 3)."""
    climb = np.clip(since / rise, 0, 1)
    # It slows as it climbs: the height of a throw that stands still at the burst.
    head = ground + (sky - ground) * (climb * (2 - climb))[..., None]
    off = norm(at.xyz - head)
    tail = bell(off / 0.45) * ((since >= 0) & (since < rise))
    age = np.maximum(since - rise, 0.0)
    braked = 1 - np.exp(-age / _DRAG)
    sunk = _GRAVITY * _DRAG * (age - _DRAG * braked)
    away = at.xyz - sky + sunk[..., None] * np.array([0.0, 0.0, 1.0])
    reach = burst * _DRAG * braked
    # The ball's skin thickens as it flies; each pixel's spark dies a little sooner or later.
    skin = bell((norm(away) - reach) / (0.35 + 0.35 * reach))
    own = chance.share(chance.key(key, chance.place(at.xyz)))
    spark = np.exp(-np.minimum(age / (fade * (0.25 + 0.5 * own)), 50.0)) * smooth(3 - age / fade)
    return 0.5 * tail + skin * spark * (since >= rise) * (0.4 + 0.6 * own)
