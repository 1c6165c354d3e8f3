"""Neighbouring stretches that swap their colours."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.mix import mix
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Duration, Length, Way
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, now
from lumenmap.motion.ways import measure


def swap(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    width: Annotated[Varying, Length("length of a stretch", low=1 * IN, high=100 * FT)] = 2 * FT,
    hold: Annotated[float, Duration("how long the colours stay", low=0.4, high=600)] = 2.0,
    turn: Annotated[float, Duration("how long the swap takes", low=0, high=60)] = 0.8,
    way: Annotated[str, Way("what the stretches are measured along")] = "edge",
) -> Light:
    """Let neighbouring stretches of the house swap colours in step.

    Found by: alternate, alternating, checkerboard, trade, exchange, flip, two colours,
    switch.
    """
    stretch = np.floor(measure(at, way).metres / now(width))
    beats = t / (hold + turn)
    step = np.floor(beats)
    # The colours stay first; the swap is complete at the end of the beat.
    left = (1 - (beats - step)) * (hold + turn)
    part = 1 - smooth(left / max(turn, 1e-6))
    return mix(palette.stop(stretch + step), palette.stop(stretch + step + 1), part)
