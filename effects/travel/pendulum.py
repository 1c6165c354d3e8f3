"""A patch of light that swings."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.mix import mix
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Duration, Length, Share, Way
from lumenmap.motion.shapes import bump, smooth, there_and_back
from lumenmap.motion.varying import Varying, now, turned
from lumenmap.motion.ways import measure

#: The wake is as long as the way that the patch went in this time (s).
_WAKE = 0.35


def pendulum(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    period: Annotated[Varying, Duration("time there and back", low=0.8, high=600)] = 5.0,
    width: Annotated[Varying, Length("how wide the patch is", low=2 * IN, high=300 * FT)] = 9 * FT,
    least: Annotated[Varying, Share("light elsewhere, in the colour that passed last")] = 0.12,
    way: Annotated[str, Way("what it swings along")] = "across",
) -> Light:
    """Swing a patch of light to and fro; it paints the house in its colour as it goes.

    Found by: swing, swinging, back and forth, to and fro, ping pong, scanner, bounce back,
    sway, clock, grandfather clock.
    """
    broad = now(width)
    distance = measure(at, way)
    # The patch turns with its edge at the way's end; if it is wider than the way, it is still.
    room = np.maximum(distance.whole - broad, 0.0)
    # Each swing takes the next colour, and paints over the last one's behind the patch.
    swings = 2 * turned(period, t)
    number = np.floor(swings)
    towards = 1 - 2 * np.mod(number, 2)
    edge = (distance.whole + broad) * there_and_back(turned(period, t)) - broad / 2
    part = smooth((edge - distance.metres) * towards / broad + 0.5)
    every = np.broadcast_to(number, part.shape)
    light = mix(palette.stop(every - 1), palette.stop(every), part)
    centre = np.minimum(broad, distance.whole) / 2 + room * there_and_back(turned(period, t))
    # Behind it the patch draws out into a wake, the longer the faster it goes.
    pace = np.pi * room / now(period) * np.sin(2 * np.pi * turned(period, t))
    off = distance.metres - centre
    wake = np.where(off * pace < 0, _WAKE * np.abs(pace), 0.0)
    level = bump(off / (broad / 2 + wake)) ** (1 + 2 * wake / (wake + broad))
    return dim(light, now(least) + (1 - now(least)) * level)
