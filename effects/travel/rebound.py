"""Balls that bounce as gravity has it."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Count, Duration, Length, Share, Way
from lumenmap.motion.shapes import bump, smooth
from lumenmap.motion.varying import Varying, highest, now, value_at
from lumenmap.motion.ways import measure

#: A ball is let lie when its bounces are shorter than this (s), and fades while it rests.
_SHORTEST, _REST = 0.6, 1.2


def rebound(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    flight: Annotated[float, Duration("time of the first bounce", low=0.8, high=20)] = 2.6,
    keep: Annotated[
        Varying,
        Share("height of a bounce, as a fraction of the one before", low=0.1, high=0.95),
    ] = 0.66,
    balls: Annotated[int, Count("how many balls", low=1, high=8)] = 3,
    size: Annotated[Varying, Length("size of a ball", low=2 * IN, high=20 * FT)] = 20 * IN,
    least: Annotated[Varying, Share("light elsewhere")] = 0.03,
    way: Annotated[str, Way("what they bounce along; its beginning is the floor")] = "edge",
) -> Light:
    """Bounce balls along the way: each bounce is lower and shorter, as gravity has it.

    Found by: bounce, bouncing, ball, balls, gravity, bouncy, juggle, jump, basketball.
    """
    distance, wide = measure(at, way), now(size)
    # Balls are thrown as often as those that keep the most can be.
    cycle = _rolling(flight, highest(keep))[1] + _REST
    total = np.full((len(t), len(at.xyz), 3), 0, np.float32)
    for ball in range(balls):
        turn = t / cycle + ball / balls
        number = np.floor(turn)
        since = (turn - number) * cycle
        # A ball that is on its way bounces on as it was thrown.
        kept = value_at(keep, (number - ball / balls) * cycle)
        bounces, rolling = _rolling(flight, kept)
        shorter = np.sqrt(kept)
        # Flights are a geometric series: the logarithm says which bounce it is.
        left = np.maximum(1 - since * (1 - shorter) / flight, shorter**bounces)
        bounce = np.clip(np.floor(np.log(left) / np.log(shorter) + 1e-9), 0, bounces)
        began = flight * (1 - shorter**bounce) / (1 - shorter)
        part = np.clip((since - began) / (flight * shorter**bounce), 0, 1)
        up = np.where(since < rolling, kept**bounce * 4 * part * (1 - part), 0.0)
        # Its middle goes from half a ball above the floor to half a ball below the way's end.
        room = np.maximum(distance.whole - wide, 0.0)
        off = distance.metres - np.minimum(wide, distance.whole) / 2 - room * up
        fading = smooth((rolling + _REST - since) / _REST) * smooth(since / 0.2)
        level = np.sqrt(bump(off / (wide / 2))) * fading
        light = dim(palette.stop(np.broadcast_to(number + ball, level.shape)), level)
        np.maximum(total, light, out=total)
    floor = dim(
        palette(np.zeros((len(t), len(at.xyz)))), np.broadcast_to(now(least), total.shape[:2])
    )
    return np.maximum(total, floor, out=total)


def _rolling(flight: float, keep: float | F) -> tuple[F, F]:
    """Return how many bounces a ball makes, and how long they take together (s)."""
    shorter = np.sqrt(keep)
    bounces = 1 + np.floor(np.log(min(_SHORTEST / flight, 1.0)) / np.log(shorter))
    return bounces, flight * (1 - shorter**bounces) / (1 - shorter)
