"""The whole house swells and fades slowly."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.mix import mix
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, Duration, Length, Share, Way
from lumenmap.motion.shapes import smooth, there_and_back
from lumenmap.motion.varying import Varying, highest, now, turned
from lumenmap.motion.ways import measure


def swell(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    period: Annotated[Varying, Duration("from one swell to the next", low=0.7, high=3600)] = 7.0,
    least: Annotated[Varying, Share("the level it fades to")] = 0.03,
    lag: Annotated[
        Varying,
        Length("distance over which it lags by a whole swell; 0 for none", low=0, high=3000 * FT),
    ] = 0.0,
    way: Annotated[str, Way("what the lag is measured along")] = "across",
) -> Light:
    """Swell and fade the whole house, each time in the palette's next colour.

    Found by: breathe, breathing, breath, fade, fading, fade in, pulse slowly, dim, throb,
    inhale, relax.
    """
    turn = turned(period, t)
    if highest(lag) > 0:
        late = measure(at, way).metres / np.maximum(now(lag), 0.01)
        turn = turn - np.where(np.asarray(now(lag)) > 0, late, 0.0)
    turn = np.broadcast_to(turn, (len(t), len(at.xyz)))
    # Squared, since the eye sees equal steps of light as smaller the brighter it is.
    level = now(least) + (1 - now(least)) * there_and_back(turn) ** 2
    # One colour changes to the next between swells, where it shows least.
    number = np.round(turn)
    part = smooth((turn - number) / 0.3 + 0.5)
    return dim(mix(palette.stop(number - 1), palette.stop(number), part), level)
