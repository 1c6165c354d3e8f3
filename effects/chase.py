"""Groups of light that run along the house."""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated

import numpy as np

from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import Length, Share, Speed, Way
from lumenmap.motion.ways import measure


def chase(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    speed: Annotated[float, Speed("how fast the groups run", low=-30, high=30)] = 1.2192,
    spacing: Annotated[
        float, Length("from the start of one group to the next", low=0.02, high=100)
    ] = 1.2192,
    lit: Annotated[float, Share("how much of the spacing is lit")] = 0.5,
    soft: Annotated[float, Share("how much of a group fades in and out at its ends")] = 0.3,
    way: Annotated[str, Way("what the groups run along")] = "line",
) -> Light:
    """Run groups of light along the house, each in the palette's next colour."""
    stripe, groups = _stripe(palette, lit, soft)
    repeat = spacing * groups
    return stripe(measure(at, way).metres / repeat - speed * t / repeat % 1.0)


@lru_cache(maxsize=64)
def _stripe(palette: Palette, lit: float, soft: float) -> tuple[Palette, int]:
    """Draw one repeat of the pattern, a group for each stop of the palette."""
    groups = len(palette.stops)
    entries = max(1024, 2 ** int(groups * 64 - 1).bit_length())
    u = np.arange(entries) / entries * groups
    inside = u % 1.0
    ramp = max(soft * lit / 2, 1e-9)
    level = np.clip(np.minimum(inside, lit - inside) / ramp, 0, 1)
    if lit == 1 and soft == 0:
        level[:] = 1
    colours = np.array([s.rgb for s in palette.stops])[np.floor(u).astype(int)]
    return palette.remade(colours * level[:, None]), groups
