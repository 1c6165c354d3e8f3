"""Rings that spread from a corner."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.colour.stripe import stripe
from lumenmap.motion.at import At, F
from lumenmap.motion.kept import kept
from lumenmap.motion.options import FT, IN, Corner, Length, Speed
from lumenmap.motion.shapes import bump
from lumenmap.motion.varying import Varying, moved, now
from lumenmap.motion.ways import measure


def rings(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    start: Annotated[str, Corner("where the rings spread from")] = "bottom",
    speed: Annotated[
        Varying, Speed("how fast they spread; negative draws them in", low=-90 * FT, high=90 * FT)
    ] = 8 * FT,
    spacing: Annotated[float, Length("from one ring to the next", low=6 * IN, high=300 * FT)] = 12
    * FT,
    width: Annotated[float, Length("how wide a ring is", low=1 * IN, high=100 * FT)] = 5 * FT,
    fade: Annotated[
        Varying | None,
        Length(
            "distance at which a ring has faded to 37 %",
            low=1 * FT,
            high=1000 * FT,
            unset="never fades",
        ),
    ] = None,
) -> Light:
    """Spread rings of light from a corner of the house, straight through space."""
    metres = measure(at, f"from {start}").metres
    repeat = spacing * len(palette.stops)
    light = _pattern(palette, width / spacing).run(metres / repeat, moved(speed, t) / repeat)
    return light if fade is None else dim(light, np.exp(-metres / now(fade)))


@kept(64)
def _pattern(palette: Palette, width: float) -> Palette:
    """Draw a ring in the middle of its spacing, at its brightest there."""
    return stripe(palette, lambda x: bump((x - 0.5) / (width / 2)), width / 2)
