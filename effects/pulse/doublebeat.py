"""The double beat of a heart, spreading from one point."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, Corner, Rate, Share, Speed
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, moved, now
from lumenmap.motion.ways import measure


def doublebeat(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    rate: Annotated[Varying, Rate("beats", low=0.1, high=1.4)] = 55 / 60,
    speed: Annotated[
        Varying, Speed("how fast the beat spreads over the house", low=2 * FT, high=1000 * FT)
    ] = 60 * FT,
    start: Annotated[str, Corner("where it spreads from")] = "middle",
    least: Annotated[Varying, Share("light between beats")] = 0.06,
) -> Light:
    """Beat like a heart, two beats and a rest, spreading from one point.

    Found by: heartbeat, heart, beat, pulse, love, valentine, alive.
    """
    late = measure(at, f"from {start}").metres / now(speed)
    beat = moved(rate, t) - late * now(rate)
    number = np.floor(beat)
    since = (beat - number) / now(rate)  # s
    # The second beat comes about 0.3 s after the first and is weaker (common knowledge).
    level = _thump(since) + 0.55 * _thump(since - 0.32)
    return dim(palette.stop(number), now(least) + (1 - now(least)) * np.minimum(level, 1))


def _thump(since: F) -> F:
    """Rise in 70 ms and die away within half a second."""
    return smooth(since / 0.07) * np.exp(-np.clip((since - 0.07) / 0.12, 0, 50))
