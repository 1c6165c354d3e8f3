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

#: No octave takes more than so many new values a second: more of them flicker more than three
#: times a second, which can trigger seizures.
_MOST = 4.0
#: As many octaves as the slowest change of all has room for.
_OCTAVES = 6


def hearth(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    patch: Annotated[Varying, Length("width of a flame", low=2 * IN, high=50 * FT)] = 2 * FT,
    rise: Annotated[Varying, Speed("how fast the heat rises", low=0.5 * FT, high=60 * FT)] = 5 * FT,
    slowest: Annotated[float, Duration("the slowest change", low=0.5, high=60)] = 8.0,
    depth: Annotated[Varying, Share("how deeply it flickers")] = 0.6,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Flicker like rising flames: the power of the changes falls as 1/f."""
    deep = now(depth)
    height = at.xyz[:, 2] - at.low[2]
    across = at.xyz[:, 0] + 0.7 * at.xyz[:, 1]
    octaves = int(np.clip(1 + np.floor(np.log2(_MOST * slowest)), 1, _OCTAVES))
    noise = pink(across, t - height / now(rise), now(patch), slowest, octaves, seed)
    # A flame is hottest at its foot: it goes up the palette from its first colour to its last.
    tip = height / max(float(at.high[2] - at.low[2]), 1.0)
    heat = np.clip(0.6 + 0.24 * noise - 0.25 * tip, 0, 1)
    level = np.exp(np.clip(0.6 * deep * noise, -4, 4)) * (1 - deep / 2) * (1 - 0.25 * tip)
    return dim(palette(heat * palette.stops[-1].at), np.clip(level, 0, 1))
