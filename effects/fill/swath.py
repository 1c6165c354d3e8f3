"""Waves of light that cross the house in one direction."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.palette import K, Light, Palette
from lumenmap.colour.running import running
from lumenmap.motion.at import At, F
from lumenmap.motion.kept import kept
from lumenmap.motion.options import FT, IN, Angle, Length, Share, Speed
from lumenmap.motion.shapes import smooth, there_and_back
from lumenmap.motion.varying import Varying, moved, now, steps


def swath(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    speed: Annotated[Varying, Speed("how fast they move", low=-90 * FT, high=90 * FT)] = 6 * FT,
    spacing: Annotated[
        Varying, Length("from one crest to the next", low=6 * IN, high=1000 * FT)
    ] = 16 * FT,
    direction: Annotated[
        Varying,
        Angle("direction: 0 to the right, 90 away from the street", low=-2 * np.pi, high=2 * np.pi),
    ] = 0.0,
    climb: Annotated[Varying, Angle("how steeply they rise", low=-np.pi / 2, high=np.pi / 2)] = 20
    * np.pi
    / 180,
    least: Annotated[Varying, Share("light between crests")] = 0.06,
) -> Light:
    """Send broad waves of light across the house in one direction.

    Found by: wave, waves, sweep, sweeping, swell across, stadium wave, curtain.
    """
    east, rise = now(direction), now(climb)
    x, y, z = at.xyz.T
    # All divided by the cosine of the climb: so what stays the same is worked out once, whichever
    # of the options changes. At 90° the cosine isn't 0 but 6e-17, and z alone is left.
    level = np.cos(rise)
    metres = [(x, np.cos(east)), (y, np.sin(east)), (z, np.tan(rise))]
    tables = ((rows, _pattern(palette, *dark)) for rows, _, dark in steps(t, least))
    repeat = now(spacing) * len(palette.stops) / level
    return running(tables, metres, moved(speed, t) / level, repeat)


@kept(256)
def _pattern(palette: Palette, least: float) -> Palette:
    groups = len(palette.stops)
    entries = max(K, 2 ** int(np.ceil(np.log2(64 * groups))))
    u = np.arange(entries) / entries * groups
    # One crest's colour changes to the next one's in the trough, where it shows least.
    number = np.round(u).astype(int)
    part = smooth((u - number) / 0.4 + 0.5)[:, None]
    stops = np.array([s.rgb for s in palette.stops])
    colours = stops[(number - 1) % groups] * (1 - part) + stops[number % groups] * part
    return palette.remade(colours * (least + (1 - least) * there_and_back(u) ** 2)[:, None])
