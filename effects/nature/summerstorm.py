"""A soft thunderstorm, far away."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.noise import field
from lumenmap.motion.options import FT, Duration, Length, Seed, Share
from lumenmap.motion.shapes import bell, smooth
from lumenmap.motion.varying import Varying, now

#: When the glows of one bolt begin (s). Three flashes in any second are the most that is safe for
#: viewers (WCAG 2.2, 2.3.1 [P]): these are two, and slow.
_GLOWS = ((0.0, 0.7), (0.55, 1.0))
#: Time in which a glow comes and in which it falls to 37 % (s).
_COMES, _GOES = 0.16, 0.5
#: The golden ratio: as the step from bolt to bolt it keeps them apart.
_GOLDEN = 0.6180339887498949


def summerstorm(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    every: Annotated[float, Duration("from one bolt to the next, about", low=3, high=600)] = 4.5,
    reach: Annotated[
        Varying, Length("how far a bolt lights the clouds", low=2 * FT, high=300 * FT)
    ] = 13 * FT,
    least: Annotated[Varying, Share("light of the clouds between bolts")] = 0.18,
    bright: Annotated[Varying, Share("how bright a bolt is")] = 1.0,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Let a far thunderstorm glow softly in the clouds, now here, now there.

    Found by: lightning, storm, thunder, thunderstorm, flash, weather, spooky.
    """
    clouds = field(at, t, 3.0, 5.0, seed)
    level = np.zeros((len(t), len(at.xyz)))
    for back in (0, 1):
        number = np.floor(t / every) - back
        key = chance.key(seed, number.astype(np.int64))
        # Somewhere in the first half of its time, so that two are never at once.
        since = t - (number + 0.5 * chance.share(key)) * every
        # Each bolt is well away from the one before.
        part = (number * _GOLDEN + 0.3 * chance.share(chance.key(key, 1))) % 1.0
        x = at.low[0] + (at.high[0] - at.low[0]) * part
        near = bell(
            (at.xyz[:, 0] - x) / (now(reach) * (0.7 + 0.6 * chance.share(chance.key(key, 2))))
        )
        for begins, strong in _GLOWS:
            age = since - begins
            glow = smooth(age / _COMES) * np.exp(-np.clip((age - _COMES) / _GOES, 0, 50))
            level = np.maximum(level, strong * glow * near * (0.6 + 0.4 * clouds))
    # Clouds take the palette's colours; a bolt is of its first one.
    light = dim(palette(0.3 + 0.6 * clouds), now(least) * (0.4 + 0.9 * clouds) * (1 - level))
    light += dim(palette.stop(np.zeros(level.shape)), now(bright) * level)
    return np.clip(light, 0, 1, out=light)
