"""A bright head with a fading tail."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.palette import Light, Palette
from lumenmap.colour.running import running
from lumenmap.colour.stripe import stripe
from lumenmap.motion.at import At, F
from lumenmap.motion.kept import kept
from lumenmap.motion.options import FT, IN, Length, Speed, Way
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, moved, now, steps
from lumenmap.motion.ways import measure


def brightwake(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    speed: Annotated[Varying, Speed("how fast they run", low=-90 * FT, high=90 * FT)] = 12 * FT,
    spacing: Annotated[
        Varying, Length("from one head to the next", low=1 * FT, high=1000 * FT)
    ] = 20 * FT,
    tail: Annotated[Varying, Length("length of the tail", low=2 * IN, high=300 * FT)] = 13 * FT,
    head: Annotated[Varying, Length("length of the full-bright head", low=0, high=30 * FT)] = 9
    * IN,
    way: Annotated[str, Way("what the heads run along")] = "round",
) -> Light:
    """Run bright heads along the house, each with a fading tail.

    Found by: comet, meteor, tail, streak, shooting, snake, train, laser, racing, trail,
    rocket trail.
    """
    distance = measure(at, way)
    colours = len(palette.stops)
    # A speed that turns round takes the tail with it.
    backwards = np.broadcast_to(np.asarray(now(speed)) < 0, t.shape)
    tables = (
        (rows, _pattern(palette, behind / group, full / group, bool(back), brief))
        for rows, brief, (each, behind, full, back) in steps(t, spacing, tail, head, backwards)
        for group in [distance.group(each, colours)]
    )
    repeat = distance.group(now(spacing), colours) * colours
    return running(tables, distance.metres, moved(speed, t), repeat)


@kept(256)
def _pattern(palette: Palette, tail: float, head: float, backwards: bool, brief: bool) -> Palette:
    front = max(tail / 24, head / 4, 1e-4)  # the head comes in over this, so that it glides

    def level(x: F) -> F:
        behind = x if backwards else 1 - x
        arriving = smooth(behind / front)
        # Squared twice over: the eye still sees the last tenth of a tail that falls evenly.
        fading = np.clip(1 - (behind - head - front) / tail, 0, 1) ** 3
        return arriving * np.minimum(fading, 1)

    return stripe(palette, level, front, brief)
