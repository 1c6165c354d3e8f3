"""The flicker of flame."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.noise import pink
from lumenmap.motion.options import FT, IN, Duration, Length, Seed, Share


def hearth(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    patch: Annotated[float, Length("size of a flame", low=2 * IN, high=50 * FT)] = 14 * IN,
    slowest: Annotated[float, Duration("the slowest change", low=0.5, high=60)] = 4.0,
    depth: Annotated[float, Share("how deep it flickers")] = 0.55,
    seed: Annotated[int, Seed("which of the possible fires")] = 0,
) -> Light:
    """Flicker like flame: the power of its changes falls as 1/f."""
    noise = pink(at, t, patch, slowest, 8, seed)
    level = np.exp(np.clip(0.55 * depth * noise, -4, 4)) * (1 - depth / 2)
    # A flame that flares is hotter: it moves along the palette from its first colour to its last.
    heat = np.clip(0.5 + 0.28 * noise, 0, 1)
    return dim(palette(heat * palette.stops[-1].at), np.clip(level, 0, 1))
