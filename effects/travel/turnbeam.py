"""Beams that turn around the house."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.mix import mix
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import Angle, Count, Duration, Share
from lumenmap.motion.shapes import bump, smooth
from lumenmap.motion.varying import Varying, now


def turnbeam(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    period: Annotated[
        float, Duration("time of one turn; negative turns clockwise", low=-600, high=600)
    ] = 8.0,
    beams: Annotated[int, Count("how many beams", low=1, high=12)] = 2,
    angle: Annotated[
        Varying, Angle("how wide a beam is", low=float(np.radians(2)), high=2 * np.pi)
    ] = 40 * np.pi / 180,
    least: Annotated[Varying, Share("light outside the beams")] = 0.05,
) -> Light:
    """Turn beams of light around the house like a lighthouse's, each with an afterglow.

    Found by: lighthouse, beam, rotate, rotating, spin, spinning, searchlight, carousel,
    beacon, disco, windmill, spotlight.
    """
    wide = now(angle)
    x, y = (at.xyz[:, :2] - ((at.low + at.high) / 2)[:2]).T
    # A house whose pixels are all in one plane gets some depth, as in the way "round".
    depth = max(float(at.high[1] - at.low[1]), float(at.high[0] - at.low[0]) / 4, 1e-6)
    front = at.low[1] + depth / 2 if at.high[1] - at.low[1] < depth else None
    if front is not None:
        y = at.xyz[:, 1] - front
    bearing = np.arctan2(y, x) / (2 * np.pi)
    turn = bearing - t / np.copysign(max(abs(period), 0.7), period)
    # How far ahead of its beam's middle each place is, in the direction that the beams turn.
    ahead = (turn * beams - np.round(turn * beams)) / beams * 2 * np.pi * (1 if period >= 0 else -1)
    # What a beam has passed glows on behind it, for three times its width if there is room.
    tail = np.minimum(3 * wide, 0.9 * (2 * np.pi / beams - wide / 2))
    glow = 0.55 * np.clip(1 + ahead / np.maximum(tail, 1e-3), 0, 1) ** 2 * (ahead < 0)
    level = now(least) + (1 - now(least)) * np.maximum(bump(ahead / (wide / 2)), glow)
    # Halfway between two beams one colour changes to the other.
    before = np.floor(turn * beams)
    part = smooth((turn * beams - before - 0.25) * 2)
    light = palette.stop(np.mod(before, beams))
    return dim(mix(light, palette.stop(np.mod(before + 1, beams)), part), level)
