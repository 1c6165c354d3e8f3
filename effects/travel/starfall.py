"""A rare shooting star over quiet stars."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.noise import in_time
from lumenmap.motion.options import FT, Duration, Length, Seed, Share, Speed
from lumenmap.motion.shapes import bell, smooth
from lumenmap.motion.varying import Varying, highest, lowest, now, value_at


def starfall(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    every: Annotated[
        float, Duration("from one shooting star to the next, about", low=4, high=3600)
    ] = 10.0,
    speed: Annotated[
        Varying, Speed("how fast it flies; the same to its end", low=3 * FT, high=200 * FT)
    ] = 26 * FT,
    tail: Annotated[Varying, Length("length of its tail", low=1 * FT, high=200 * FT)] = 14 * FT,
    stars: Annotated[Varying, Share("how many pixels are stars")] = 0.3,
    least: Annotated[Varying, Share("light of the quiet stars, on average")] = 0.3,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Let a shooting star cross the house now and then, over stars that hardly twinkle.

    Found by: shooting star, falling star, wish, night sky, perseids, starry, stargazing,
    space.
    """
    own = chance.key(seed, chance.place(at.xyz))
    twinkle = in_time(own, t, 2.5)
    # Some stars are brighter than others; most pixels are dark sky.
    quiet = np.where(
        chance.share(own) < now(stars), 0.4 + 1.2 * chance.share(chance.key(own, 1)), 0.0
    )
    light = dim(
        palette(0.25 + 0.5 * twinkle), np.minimum(now(least) * quiet * (0.6 + 0.8 * twinkle), 1)
    )
    box = at.high - at.low
    long, longest = now(tail), highest(tail)
    far = float(box[0]) + long + 2.0
    slowest = lowest(speed)
    for back in range(1 + int(np.ceil((float(box[0]) + 2 * longest + 2.0) / slowest / every))):
        number = np.floor(t / every) - back
        key = chance.key(seed, 5, number.astype(np.int64))
        start = (number + 0.8 * chance.share(key)) * every
        since = t - start
        right = np.where(chance.share(chance.key(key, 1)) < 0.5, 1.0, -1.0)
        x = (at.xyz[:, 0] - (at.low[0] + at.high[0]) / 2) * right + box[0] / 2
        # It falls by a third to the whole of the house's height, from somewhere near the top.
        fall = (1 + 2 * chance.share(chance.key(key, 2))) / 3 * box[2] / far
        line = at.high[2] + 0.2 * box[2] - 0.4 * box[2] * chance.share(chance.key(key, 3))
        behind = value_at(speed, start) * since - 1.0 - x
        off = at.xyz[:, 2] - (line - fall * x)
        glow = np.clip(1 - behind / long, 0, 1) ** 2 * smooth(behind / 0.35 + 0.5)
        level = glow * bell(off / (0.6 * box[2] + 0.5)) * (since > 0)
        # White-hot at its head, the palette's second colour in its tail.
        np.maximum(light, dim(palette(0.5 * np.clip(behind / long, 0, 1)), level), out=light)
    return np.minimum(light, 1.0, out=light)
