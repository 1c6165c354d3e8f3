"""Rings that spread from a corner."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.colour.running import running
from lumenmap.colour.stripe import stripe
from lumenmap.motion.at import At, F
from lumenmap.motion.kept import kept
from lumenmap.motion.options import FT, IN, Corner, Length, Share, Speed
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, moved, now, steps
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
    ] = 7 * FT,
    spacing: Annotated[Varying, Length("from one ring to the next", low=6 * IN, high=300 * FT)] = 16
    * FT,
    width: Annotated[
        Varying, Length("how far behind its front a ring has faded", low=1 * IN, high=100 * FT)
    ] = 7 * FT,
    least: Annotated[Varying, Share("light between rings, in the last ring's colour")] = 0.07,
    reach: Annotated[
        Varying | None,
        Length(
            "distance at which a ring has faded to 37 %",
            low=1 * FT,
            high=1000 * FT,
            unset="never fades",
        ),
    ] = None,
) -> Light:
    """Spread rings of light from a corner of the house, straight through space.

    Found by: ripple, ripples, circle, circles, radar, expand, expanding, target, stone in water,
    shockwave, splash.
    """
    metres = measure(at, f"from {start}").metres
    inwards = np.broadcast_to(np.asarray(now(speed)) < 0, t.shape)
    tables = (
        (rows, _pattern(palette, wide / each, dark, bool(drawn_in), brief))
        for rows, brief, (each, wide, dark, drawn_in) in steps(t, spacing, width, least, inwards)
    )
    light = running(tables, metres, moved(speed, t), now(spacing) * len(palette.stops))
    return light if reach is None else dim(light, np.exp(-metres / now(reach)))


@kept(256)
def _pattern(palette: Palette, width: float, least: float, inwards: bool, brief: bool) -> Palette:
    """Draw a ring: a soft front, and behind it a glow that fades until the next ring comes."""
    front = min(width / 4, 0.2)

    def level(x: F) -> F:
        behind = x if inwards else 1 - x
        glow = np.clip(1 - (behind - front) / width, 0, 1) ** 2
        # It comes up from what is left of the ring before it, not from black.
        return least + (1 - least) * smooth(behind / front) * np.minimum(glow, 1)

    return stripe(palette, level, front, brief)
