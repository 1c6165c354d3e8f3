"""A flag whose folds move."""

from __future__ import annotations

from typing import Annotated, Literal, get_args

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.mix import mix
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Choice, Length, Share, Speed
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, moved, now

Bands = Literal["level", "upright"]


def windflag(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    bands: Annotated[
        Bands,
        Choice("level: the first colour on top; upright: on the left", names=get_args(Bands)),
    ] = "level",
    spacing: Annotated[Varying, Length("from one fold to the next", low=1 * FT, high=300 * FT)] = 11
    * FT,
    speed: Annotated[Varying, Speed("how fast folds run", low=-60 * FT, high=60 * FT)] = 5 * FT,
    sway: Annotated[Varying, Length("how far folds move bands", low=0, high=20 * FT)] = 9 * IN,
    soft: Annotated[Varying, Length("length over which bands meet", low=0, high=10 * FT)] = 4 * IN,
    least: Annotated[Varying, Share("light in the depth of a fold")] = 0.08,
) -> Light:
    """Fly a flag of equal bands over the house, its folds running with the wind.

    Found by: flag, banner, fabric, cloth, tricolor, patriotic, flagpole, folds.
    """
    x, z = at.xyz[:, 0] - at.low[0], at.high[2] - at.xyz[:, 2]
    wide, high = np.maximum(at.high - at.low, 1e-3)[[0, 2]]
    # Folds grow from the pole on the left; a second train keeps them from being all alike.
    free = 0.6 + 0.4 * x / wide
    phase = 2 * np.pi * (x + 0.25 * z - moved(speed, t)) / now(spacing)
    fold = free * (0.75 * np.sin(phase) + 0.25 * np.sin(0.53 * phase + 1.3))
    size = high if bands == "level" else wide
    place = (z if bands == "level" else x) + now(sway) * fold
    count = len(palette.stops)
    # Bands have the same width, measured over the pixels of the whole house; the ends stay whole.
    scaled = np.clip(place / size * count, 0.0, count - 1e-9)
    line = np.clip(np.round(scaled), 1, max(count - 1, 1))
    part = smooth((scaled - line) * size / count / np.maximum(now(soft), 1e-3) + 0.5)
    light = mix(palette.stop(np.minimum(line - 1, count - 1)), palette.stop(line % count), part)
    # The slope of a fold shows, not its height: half of each is turned away from the light.
    shade = 0.5 + 0.5 * free * np.cos(phase)
    return dim(light, now(least) + (1 - now(least)) * shade**1.6)
