"""Pairs of eyes that open, blink and are gone."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Duration, Length, Seed, Share, Way
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Varying, now
from lumenmap.motion.ways import measure

#: Time in which lids close or open, and how long they stay closed in a blink (s).
_LID, _CLOSED = 0.12, 0.12


def peepers(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    spacing: Annotated[
        Varying, Length("room for each pair of eyes, about", low=1 * FT, high=100 * FT)
    ] = 5 * FT,
    apart: Annotated[
        Varying, Length("from the middle of one eye to the other's", low=2 * IN, high=10 * FT)
    ] = 14 * IN,
    size: Annotated[Varying, Length("width of an eye", low=1 * IN, high=5 * FT)] = 7 * IN,
    stay: Annotated[float, Duration("how long a pair stays, about", low=2, high=600)] = 7.0,
    least: Annotated[Varying, Share("light between the eyes")] = 0.0,
    way: Annotated[str, Way("what the eyes are spaced along")] = "edge",
    seed: Annotated[int, Seed("chooses where and when they look")] = 0,
) -> Light:
    """Open pairs of eyes in the dark, which blink, look about and vanish.

    Found by: eyes, ghost, ghosts, monster, creepy, blink, halloween eyes, owls, cats,
    scary, blinking, look.
    """
    each = now(spacing)
    place = measure(at, way).metres / each
    column = np.floor(place).astype(np.int64)
    own = chance.key(seed, column)
    turn = t / (stay * (0.8 + 0.6 * chance.share(own))) + chance.share(chance.key(own, 1))
    number = np.floor(turn)
    pair = chance.key(own, number.astype(np.int64))
    # From each opening to the next a pair looks from another spot, and some are not there at all.
    since = (turn - number) * stay
    there = chance.share(chance.key(pair, 2)) < 0.7
    lids = smooth((since - 0.6) / 0.5) * smooth((stay - 0.4 - since) / 0.3)
    for blink in (1, 2):
        when = stay * (0.2 + 0.3 * blink * chance.share(chance.key(pair, 2 + blink)))
        shut = np.abs(since - when) - _CLOSED / 2
        lids = lids * smooth(shut / _LID)
    far, wide = now(apart), now(size)
    room = np.clip(1 - (far + wide) / each, 0, 1)
    middle = column + 0.5 + room * (chance.share(chance.key(pair, 5)) - 0.5)
    # It glances to one side and back.
    glance = np.sin(2 * np.pi * since / stay) * (chance.share(chance.key(pair, 6)) - 0.5)
    off = (place - middle) * each + glance * wide
    near = np.abs(np.abs(off) - far / 2) / (wide / 2)
    level = lids * there * np.sqrt(np.clip(1 - near**2, 0, 1))
    light = palette.stop((chance.share(chance.key(pair, 7)) * len(palette.stops)).astype(np.int64))
    return dim(light, now(least) + (1 - now(least)) * level)
