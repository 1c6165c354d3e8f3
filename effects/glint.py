"""Points that flash at random moments and die away."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.options import Duration, Rate, Seed


def glint(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    rate: Annotated[float, Rate("flashes of each pixel, on average", low=0.001, high=2)] = 0.12,
    decay: Annotated[float, Duration("time to fall to 37 % of full", low=0.02, high=10)] = 0.35,
    seed: Annotated[int, Seed("which of the possible skies")] = 0,
) -> Light:
    """Flash single pixels at random moments (a Poisson process), each dying away."""
    last, colour = _last_flash(chance.key(seed, chance.place(at.xyz)), t, rate, 8 * decay)
    light = palette(colour)
    return dim(light, np.exp(-np.minimum((t - last) / decay, 50.0)))


def _last_flash(keys: chance.Key, t: F, rate: float, cell: float) -> tuple[F, F]:
    """Return when (T, N) each pixel last flashed, and that flash's place in the palette.

    Time is cut into cells; in each the flashes follow each other by waits of an exponential law,
    which makes a Poisson process. A flash older than a cell has died away, so the cell before the
    present one is looked at, but none before it.
    """
    mean = rate * cell
    most = int(mean + 7 * np.sqrt(mean) + 7)  # more than this in a cell: under 1 in 10**9
    last = np.full((len(t), len(keys)), -np.inf)
    colour = np.zeros(last.shape)
    now = np.floor(t / cell).astype(np.int64)[:, 0]
    for index in np.unique(np.concatenate([now - 1, now])):
        rows = np.flatnonzero((now == index) | (now == index + 1))
        when = np.full(len(keys), index * cell)
        for k in range(most):
            event = chance.key(keys, index, k)
            when = when + chance.wait(event) / rate
            here = (when <= t[rows]) & (when < (index + 1) * cell) & (when > last[rows])
            if not (when < (index + 1) * cell).any():
                break
            last[rows] = np.where(here, when, last[rows])
            colour[rows] = np.where(here, chance.share(chance.key(event, 1)), colour[rows])
    return last, colour
