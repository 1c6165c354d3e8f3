"""A colour that drifts over the whole evening."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import Duration, Share, Way
from lumenmap.motion.shapes import there_and_back
from lumenmap.motion.varying import Varying, now, turned
from lumenmap.motion.ways import measure


def nightlong(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    period: Annotated[
        Varying, Duration("time of one pass through the palette", low=10, high=86400)
    ] = 3 * 3600.0,
    span: Annotated[Varying, Share("how much of the palette is seen at once")] = 0.18,
    breath: Annotated[Varying, Duration("time of one breath", low=2, high=3600)] = 24.0,
    least: Annotated[Varying, Share("brightness at the ebb of a breath")] = 0.75,
    way: Annotated[str, Way("what the colours lie along")] = "across",
) -> Light:
    """Drift so slowly through the palette that nobody sees it move, all evening long.

    Found by: colour cycle, slow, slow change, evening, hours, background, sunset, sunrise,
    timelapse, screensaver.
    """
    distance = measure(at, way)
    share = distance.metres / distance.whole
    # The span is folded, so that a closed way has no seam.
    place = turned(period, t) + now(span) * (1 - np.abs(2 * share - 1))
    # The breath travels along the way, so that the house never dims as a whole.
    level = now(least) + (1 - now(least)) * there_and_back(turned(breath, t) - share)
    return dim(palette(place), level)
