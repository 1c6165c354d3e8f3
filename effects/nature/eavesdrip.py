"""Drops that gather under an eave and fall."""

from __future__ import annotations

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Duration, Length, Seed, Share
from lumenmap.motion.shapes import bell, smooth
from lumenmap.motion.varying import Varying, now

#: Drops fall slower than real ones, so that an eye can follow them from edge to edge (m/s²).
_GRAVITY = 1.6
#: How long what is left of a drop takes to fade, and how much wider it gets meanwhile (s, times).
_AFTER, _WIDER = 0.5, 1.5


def eavesdrip(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    gather: Annotated[float, Duration("how long a drop gathers", low=1, high=60)] = 3.5,
    spacing: Annotated[Varying, Length("from one drop to the next", low=6 * IN, high=50 * FT)] = 2
    * FT,
    size: Annotated[Varying, Length("width of a drop as it falls", low=2 * IN, high=10 * FT)] = 15
    * IN,
    least: Annotated[Varying, Share("light between drops")] = 0.09,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Let drops gather under the edges and fall, taking those below with them.

    Found by: rain, drip, drips, drop, drops, raindrops, icicle, icicles, melt, melting,
    dripping, water drops, waterfall.
    """
    each = now(spacing)
    across = (at.xyz[:, 0] + 0.61 * at.xyz[:, 1]) / each
    # A drop that falls from the top reaches what is below it as any fall does.
    fallen = np.sqrt(2 * (at.high[2] - at.xyz[:, 2]) / _GRAVITY)
    low, high = (across.min(), across.max()) if across.size else (0, 0)
    first = int(np.floor(low)) - 1
    columns = _columns(seed, first, int(np.floor(high)) + 2)
    total, colour = np.zeros((len(t), len(at.xyz))), np.zeros((len(t), len(at.xyz)))
    for neighbour in (-1, 0, 1):
        column = np.floor(across).astype(np.int64) + neighbour
        own, pace, begun = (each[column - first] for each in columns)
        period = (gather + _AFTER) * pace
        turn = (t - fallen) / period + begun
        drop = chance.key(own, np.floor(turn).astype(np.int64))
        age = (turn - np.floor(turn) - 1) * period + _AFTER  # s since it fell; negative before
        place = column + 0.2 + 0.6 * chance.share(chance.key(drop, 2))
        hanging = smooth(1 + age / gather)
        after = np.clip(age / _AFTER, 0, 1)
        wide = now(size) / 2 * np.where(age < 0, 0.45 + 0.55 * hanging, 1 + _WIDER * after)
        level = np.where(age < 0, 0.9 * hanging**2, (1 - after) ** 2 * smooth(0.7 + 3 * after))
        level = level * bell((across - place) * each / wide)
        colour = np.where(level > total, chance.share(chance.key(drop, 3)), colour)
        total = np.maximum(total, level)
    light = dim(palette(colour), total)
    # Between drops all the colours mix: each drop's own would leave hard edges on the wall.
    between = np.broadcast_to(palette.table[:, :3].mean(0), light.shape) * np.float32(1)
    return np.maximum(light, dim(between, now(least)), out=light)


def _columns(seed: int, first: int, last: int) -> tuple[NDArray[np.uint64], F, F]:
    """Return what is each column's own: its key, its pace, and how far its first drop is.

    Far fewer than places, which change column with every frame if the spacing changes. Columns drip
    at paces of their own; a third of the time nothing hangs there.
    """
    own = chance.key(seed, np.arange(first, last, dtype=np.int64))
    return own, 1.1 + 0.5 * chance.share(own), chance.share(chance.key(own, 1))
