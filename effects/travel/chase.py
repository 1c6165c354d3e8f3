"""Groups of light that run along the house."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.palette import Light, Palette
from lumenmap.colour.running import running
from lumenmap.colour.stripe import stripe
from lumenmap.motion.at import At, F
from lumenmap.motion.kept import kept
from lumenmap.motion.options import FT, IN, Length, Share, Speed, Way
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, moved, now, steps
from lumenmap.motion.ways import measure


def chase(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    speed: Annotated[Varying, Speed("how fast they run", low=-90 * FT, high=90 * FT)] = 4 * FT,
    spacing: Annotated[
        Varying, Length("from the start of one group to the next", low=1 * IN, high=300 * FT)
    ] = 4 * FT,
    lit: Annotated[Varying, Share("fraction of the spacing that is lit", low=0.02)] = 0.5,
    taper: Annotated[Varying, Share("fraction of a group that fades in and out at its ends")] = 0.4,
    way: Annotated[str, Way("what the groups run along")] = "line",
) -> Light:
    """Run groups of light along the house, each in the palette's next colour.

    Found by: chase, marching, march, running, theater, theatre, marquee, running lights,
    ants, dots, parade, moving, runner.
    """
    distance = measure(at, way)
    repeat = distance.group(now(spacing), len(palette.stops)) * len(palette.stops)
    tables = (
        (rows, _pattern(palette, full, ends, brief))
        for rows, brief, (full, ends) in steps(t, lit, taper)
    )
    return running(tables, distance.metres, moved(speed, t), repeat)


@kept(256)
def _pattern(palette: Palette, lit: float, taper: float, brief: bool) -> Palette:
    ramp = max(taper * lit / 2, 1e-6)

    def level(x: F) -> F:
        inside = np.minimum(x, lit - x)
        # A group that fills its whole spacing has no ends to fade at.
        return smooth(inside / ramp) if taper or lit < 1 else np.ones_like(x)

    return stripe(palette, level, ramp, brief)
