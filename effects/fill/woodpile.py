"""Pieces that stack up until the way is full, and are let go."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Duration, Length, Speed, Way
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, lowest, value_at
from lumenmap.motion.ways import measure

#: Pieces don't follow each other quicker than this: more than three flashes a second are too many.
_QUICKEST = 0.6


def woodpile(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    length: Annotated[
        Varying,
        Length("about how long a piece is; the same through a pile", low=2 * IN, high=50 * FT),
    ] = 20 * IN,
    speed: Annotated[
        Varying,
        Speed("how fast pieces slide in; the same through a pile", low=0.5 * FT, high=60 * FT),
    ] = 8 * FT,
    fill: Annotated[float, Duration("how long it takes to fill", low=2, high=600)] = 14.0,
    hold: Annotated[float, Duration("how long it stays full", low=0, high=60)] = 2.5,
    way: Annotated[str, Way("what the pieces slide along")] = "edge",
) -> Light:
    """Slide pieces in until they stack up and fill the way; then all of them go.

    Found by: stack, stacking, pile, build, building, bricks, collect, load, loading,
    progress.
    """
    distance = measure(at, way)
    whole, metres = distance.whole, distance.metres
    leave = np.maximum(1.5, 2 * whole.max(initial=0.0) / lowest(speed))
    moment = t % (fill + hold + leave)
    # A pile that has begun is finished as it began.
    piece_length, pace = value_at(length, t - moment), value_at(speed, t - moment)
    # As many pieces as fit, each a little longer or shorter; on every edge full at the same time.
    count = np.maximum(1, np.minimum(np.round(whole / piece_length), np.floor(fill / _QUICKEST)))
    size, every = whole / count, fill / count
    # Letting go: the whole pile slides on over the end, quicker and quicker.
    gone = np.maximum(moment - fill - hold, 0.0)
    place = metres - whole * (gone / leave) ** 2 * 1.02
    slot = np.clip(np.ceil((whole - place) / size) - 1, 0, count - 1)
    # The last piece arrives when the way is full: each starts as much earlier as it has to slide.
    arrives = (slot + 1) * every
    resting = (moment >= arrives) & (place >= 0)
    # A piece that is on its way covers this place if its own arrival says so.
    piece = np.ceil((whole - metres + pace * moment) / (size + pace * every)) - 1
    piece = np.clip(piece, 0, count - 1)
    start = whole - (piece + 1) * size - pace * ((piece + 1) * every - moment)
    sliding = (metres >= start) & (metres < start + size) & (moment < (piece + 1) * every)
    number = np.where(resting, slot, piece)
    # A dark joint shows each piece as one.
    inside = np.where(resting, np.mod(whole - place, size), metres - start)
    joint = smooth(np.minimum(inside, size - inside) / (0.12 * size) + 0.25)
    return dim(palette.stop(number), joint * (resting | sliding))
