"""The flicker of flame."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.noise import pink
from lumenmap.motion.options import FT, IN, Duration, Length, Seed, Share, Speed
from lumenmap.motion.varying import Varying, now

#: A quarter of a second is the quickest octave's time: its changes stay below three a second, and
#: quicker ones can trigger seizures.
_QUICKEST, _MOST = 0.25, 6


def hearth(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    patch: Annotated[Varying, Length("width of a flame", low=2 * IN, high=50 * FT)] = 2 * FT,
    speed: Annotated[Varying, Speed("how fast heat rises", low=0.5 * FT, high=60 * FT)] = 5 * FT,
    slowest: Annotated[float, Duration("the slowest change", low=0.5, high=60)] = 8.0,
    least: Annotated[Varying, Share("light at its darkest, nearly")] = 0.3,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Flicker like rising flames: the power of the changes falls as 1/f.

    Found by: fire, flame, flames, flicker, candle, candles, fireplace, torch, embers,
    campfire, bonfire, burning.
    """
    dark = now(least)
    height = at.xyz[:, 2] - at.low[2]
    across = at.xyz[:, 0] + 0.7 * at.xyz[:, 1]
    octaves = min(_MOST, 1 + int(np.log2(max(slowest / _QUICKEST, 1.0)) + 1e-9))
    noise = pink(across, t - height / now(speed), now(patch), slowest, octaves, seed)
    # A flame is hottest at its foot: it goes up the palette from its first colour to its last.
    tip = height / max(float(at.high[2] - at.low[2]), 1.0)
    heat = np.clip(0.6 + 0.24 * noise - 0.25 * tip, 0, 1)
    # The noise stays above -2.2 for 99 % of the time: there the light is at its least.
    middle = (1 + dark) / 2
    steep = np.log(middle / np.maximum(dark, 0.02)) / 2.2
    level = middle * np.exp(np.clip(steep * noise, -4, 4))
    level = dark + (np.minimum(level, 1) - dark) * (1 - 0.25 * tip)
    return dim(palette(heat * palette.stops[-1].at), np.clip(level, 0, 1))
