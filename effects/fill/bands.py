"""Bands of equal width."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.palette import Light, Palette
from lumenmap.colour.running import running
from lumenmap.colour.stripe import stripe
from lumenmap.motion.at import At, F
from lumenmap.motion.kept import kept
from lumenmap.motion.options import FT, IN, Length, Speed, Way
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, moved, now, steps
from lumenmap.motion.ways import measure


def bands(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    width: Annotated[Varying, Length("width of a band", low=0.5 * IN, high=100 * FT)] = 18 * IN,
    gap: Annotated[Varying, Length("dark space between bands", low=0, high=100 * FT)] = 6 * IN,
    soft: Annotated[Varying, Length("length over which an end fades", low=0, high=10 * FT)] = 0.75
    * IN,
    speed: Annotated[Varying, Speed("how fast they drift", low=-30 * FT, high=30 * FT)] = 1 * FT,
    way: Annotated[str, Way("what the bands are measured along")] = "edge",
) -> Light:
    """Paint the house in bands of equal width, still or drifting.

    Found by: stripes, stripe, bars, blocks, segments, candy cane, barber pole, zebra,
    sections.
    """
    distance = measure(at, way)
    colours = len(palette.stops)
    tables = (
        (rows, _pattern(palette, wide / each, min(end, wide / 2) / group, brief))
        for rows, brief, (wide, dark, end) in steps(t, width, gap, soft)
        for each in [wide + dark]
        for group in [distance.group(each, colours)]
    )
    repeat = distance.group(now(width) + now(gap), colours) * colours
    return running(tables, distance.metres, moved(speed, t), repeat)


@kept(256)
def _pattern(palette: Palette, lit: float, ramp: float, brief: bool) -> Palette:
    ramp = max(ramp, 1e-6)

    def level(x: F) -> F:
        return smooth(np.minimum(x, lit - x) / ramp) if lit < 1 else np.ones_like(x)

    return stripe(palette, level, ramp, brief)
