"""Pixels that flash at random moments and fade away."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.kept import kept
from lumenmap.motion.options import Duration, Rate, Seed, Share
from lumenmap.motion.varying import Course, Varying, highest, lowest, now, value_at


def glint(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    rate: Annotated[Varying, Rate("flashes of each pixel, on average", low=0.001, high=2)] = 0.3,
    decay: Annotated[Varying, Duration("time to fall to 37 % of full", low=0.02, high=10)] = 0.6,
    least: Annotated[Varying, Share("light between flashes")] = 0.0,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Flash single pixels at random moments (a Poisson process); each fades away.

    Found by: twinkle, twinkling, sparkle, sparkles, glitter, stars, confetti, shimmer,
    fairy lights, starlight, random, glimmer.
    """
    # A flash that is older than a cell has died away, or another has followed it.
    cell = min(9 * highest(decay), 20 / lowest(rate))
    last = np.full((len(t), len(at.xyz)), -np.inf)
    colour = np.zeros(last.shape)
    cells = np.floor(t / cell).astype(np.int64)[:, 0]
    for index in sorted({*cells.tolist(), *(cells - 1).tolist()}):
        rows = np.flatnonzero((cells == index) | (cells == index + 1))
        for when, place, drawn in _flashes(at, seed, index, highest(rate), cell):
            here = when <= t[rows]
            if isinstance(rate, Course):  # of the flashes at the highest rate, some
                here &= drawn * highest(rate) <= value_at(rate, np.where(when < np.inf, when, 0))
            last[rows] = np.where(here, when, last[rows])
            colour[rows] = np.where(here, place, colour[rows])
    level = np.exp(-np.minimum((t - last) / now(decay), 50.0))
    return dim(palette(colour), now(least) + (1 - now(least)) * level)


@kept(4)
def _flashes(at: At, seed: int, index: int, rate: float, cell: float) -> list[tuple[F, F, F]]:
    """Return the flashes of one cell of time, in order.

    Of each: when (N,), its place in the palette, and a lot that is drawn for it.

    They follow each other by waits of an exponential law, which makes a Poisson process. A pixel
    that flashes no more in this cell has an infinite time.
    """
    keys = chance.key(seed, chance.place(at.xyz), index)
    end = (index + 1) * cell
    when = np.full(len(keys), index * cell)
    found: list[tuple[F, F, F]] = []
    while True:
        keys = chance.key(keys)
        when = when + chance.wait(keys) / rate
        when[when >= end] = np.inf
        if np.isinf(when).all():
            return found
        colour, lot = (chance.share(chance.key(keys, i)) for i in (1, 2))
        found.append((when, colour, lot))
