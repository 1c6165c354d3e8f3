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


def glint(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    rate: Annotated[float, Rate("flashes of each pixel, on average", low=0.001, high=2)] = 0.3,
    decay: Annotated[float, Duration("time to fall to 37 % of full", low=0.02, high=10)] = 0.6,
    least: Annotated[float, Share("light between flashes")] = 0.0,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Flash single pixels at random moments (a Poisson process); each fades away.

    Found by: twinkle, twinkling, sparkle, sparkles, glitter, stars, confetti, shimmer,
    fairy lights, starlight, random, glimmer.
    """
    # A flash that is older than a cell has died away, or another has followed it.
    cell = min(9 * decay, 20 / rate)
    last = np.full((len(t), len(at.xyz)), -np.inf)
    colour = np.zeros(last.shape)
    now = np.floor(t / cell).astype(np.int64)[:, 0]
    for index in sorted({*now.tolist(), *(now - 1).tolist()}):
        rows = np.flatnonzero((now == index) | (now == index + 1))
        for when, place in _flashes(at, seed, index, rate, cell):
            here = when <= t[rows]
            last[rows] = np.where(here, when, last[rows])
            colour[rows] = np.where(here, place, colour[rows])
    level = np.exp(-np.minimum((t - last) / decay, 50.0))
    return dim(palette(colour), least + (1 - least) * level)


@kept(4)
def _flashes(at: At, seed: int, index: int, rate: float, cell: float) -> list[tuple[F, F]]:
    """Return the flashes of one cell of time, in order: when (N,), and their places in the palette.

    They follow each other by waits of an exponential law, which makes a Poisson process. A pixel
    that flashes no more in this cell has an infinite time.
    """
    keys = chance.key(seed, chance.place(at.xyz), index)
    end = (index + 1) * cell
    when = np.full(len(keys), index * cell)
    found: list[tuple[F, F]] = []
    while True:
        keys = chance.key(keys)
        when = when + chance.wait(keys) / rate
        when[when >= end] = np.inf
        if np.isinf(when).all():
            return found
        found.append((when, chance.share(chance.key(keys, 1))))
