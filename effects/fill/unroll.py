"""One colour after another rolls out along the house."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.mix import mix
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, Duration, Length, Speed, Way
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, now
from lumenmap.motion.ways import measure


def unroll(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    speed: Annotated[float, Speed("how fast the front runs", low=0.5 * FT, high=90 * FT)] = 3 * FT,
    period: Annotated[
        float, Duration("from one colour's start to the next one's", low=0.5, high=600)
    ] = 5.0,
    soft: Annotated[Varying, Length("length over which the front fades", low=0, high=100 * FT)] = 1
    * FT,
    way: Annotated[str, Way("what the colours run along")] = "edge outward",
) -> Light:
    """Roll the palette's colours out along the way, each over the one before.

    Found by: wipe, fill, paint, reveal, draw, roll, cover, spread, carpet, curtain opening.
    """
    # The number of fronts that have passed each place, with the last one's share after the point.
    passed = (t - measure(at, way).metres / speed) / period
    number = np.floor(passed)
    part = smooth((passed - number) * (period * speed) / np.maximum(now(soft), 1e-3))
    return mix(palette.stop(number - 1), palette.stop(number), part)
