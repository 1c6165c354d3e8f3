"""Slow curtains of light that drift like the northern lights."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.noise import flow
from lumenmap.motion.options import FT, Duration, Length, Seed, Share, Speed
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, moved, now, turned


def northlight(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    size: Annotated[Varying, Length("about how wide a curtain is", low=1 * FT, high=300 * FT)] = 9
    * FT,
    drift: Annotated[Varying, Speed("how fast the curtains move", low=-30 * FT, high=30 * FT)] = 1.2
    * FT,
    period: Annotated[Varying, Duration("about how long a curtain lasts", low=1, high=600)] = 9.0,
    rays: Annotated[Varying, Share("contrast of the rays in the curtains")] = 0.45,
    least: Annotated[Varying, Share("light between the curtains")] = 0.07,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Drift slow curtains of light over the house, like the northern lights.

    Found by: aurora, northern lights, polar lights, borealis, curtains, arctic.
    """
    slow, wide = turned(period, t), now(size)
    # Curtains hang: they are twice as high as wide, and fold as their phase wanders with height.
    x = at.xyz[:, 0] + 0.6 * at.xyz[:, 1] - moved(drift, t)
    fold = 0.35 * np.sin(2 * np.pi * (at.xyz[:, 2] / (3 * wide) + slow / 2.3))
    across = x / wide + fold
    curtain = 0.5 * flow(across, slow, seed) + 0.5 * flow(2.1 * across, 1.3 * slow, seed + 1)
    ray = flow(11 * across, 2.5 * slow, seed + 2)
    # A good part of the sky is dim: only the upper part of the noise shows.
    level = smooth((curtain - 0.22) * 2.8) * (1 - now(rays) * ray)
    height = (at.xyz[:, 2] - at.low[2]) / max(float(at.high[2] - at.low[2]), 1e-3)
    # The foot of a curtain is one colour and its top another, as the gases glow at their heights.
    place = 0.25 + 0.5 * height + 0.6 * (flow(0.45 * across, 0.5 * slow, seed + 3) - 0.5)
    light = palette(np.clip(place, 0, 1) * palette.stops[-1].at)
    return dim(light, now(least) + (1 - now(least)) * np.clip(level, 0, 1) ** 1.5)
