"""A bright head with a fading tail."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.palette import Light, Palette
from lumenmap.colour.stripe import stripe
from lumenmap.motion.at import At, F
from lumenmap.motion.kept import kept
from lumenmap.motion.options import FT, IN, Length, Speed, Way
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, moved, now
from lumenmap.motion.ways import measure


def brightwake(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    speed: Annotated[Varying, Speed("how fast they run", low=-90 * FT, high=90 * FT)] = 12 * FT,
    spacing: Annotated[float, Length("from one head to the next", low=1 * FT, high=1000 * FT)] = 20
    * FT,
    tail: Annotated[float, Length("length of the tail", low=2 * IN, high=300 * FT)] = 13 * FT,
    head: Annotated[float, Length("length of the full-bright head", low=0, high=30 * FT)] = 9 * IN,
    way: Annotated[str, Way("what the heads run along")] = "round",
) -> Light:
    """Run bright heads along the house, each with a fading tail.

    Found by: comet, meteor, tail, streak, shooting, snake, train, laser, racing, trail,
    rocket trail.
    """
    distance = measure(at, way)
    group = distance.group(spacing, len(palette.stops))
    repeat = group * len(palette.stops)
    place, gone = distance.metres / repeat, moved(speed, t) / repeat
    shape = tail / group, head / group
    backwards = np.broadcast_to(np.asarray(now(speed)) < 0, t.shape)[:, 0]
    light = _pattern(palette, *shape, bool(backwards.all())).run(place, gone)
    if backwards.any() and not backwards.all():  # a speed that turns round, and its tail with it
        light[backwards] = _pattern(palette, *shape, True).run(place, gone[backwards])
    return light


@kept(64)
def _pattern(palette: Palette, tail: float, head: float, backwards: bool) -> Palette:
    front = max(tail / 24, head / 4, 1e-4)  # the head comes in over this, so that it glides

    def level(x: F) -> F:
        behind = x if backwards else 1 - x
        arriving = smooth(behind / front)
        # Squared twice over: the eye still sees the last tenth of a tail that falls evenly.
        fading = np.clip(1 - (behind - head - front) / tail, 0, 1) ** 3
        return arriving * np.minimum(fading, 1)

    return stripe(palette, level, front)
