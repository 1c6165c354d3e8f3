"""A steady light."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import Share, Way
from lumenmap.motion.varying import Varying, now
from lumenmap.motion.ways import measure


def still(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    level: Annotated[Varying, Share("brightness")] = 1.0,
    at_stop: Annotated[
        Varying | None,
        Share("position in the palette, 0 to 1", unset="all of it, spread along the way"),
    ] = None,
    way: Annotated[str, Way("what the palette is spread along")] = "across",
) -> Light:
    """Light the house steadily, in one colour of the palette or in all of them.

    Found by: solid, static, steady, plain, single colour, constant, on, fixed, white, porch
    light, security, lamp.
    """
    if at_stop is None:
        distance = measure(at, way)
        place = distance.metres / distance.whole
    else:
        place = np.asarray(now(at_stop))
    return dim(palette(np.broadcast_to(place, (len(t), len(at.xyz)))), now(level))
