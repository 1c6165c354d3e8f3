"""Sparks from a launch point."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.mix import mix
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, Corner, Duration, Length, Seed
from lumenmap.motion.shapes import bell, norm, smooth
from lumenmap.motion.varying import Varying, now
from lumenmap.motion.ways import point

#: Air stops stars to 37 % of their speed in this time (s); they sink at this one (m/s).
_DRAG, _SINK = 0.45, 1.2
_GOLDEN = 0.6180339887498949  # as the step between launches it keeps them far apart


def skyburst(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    every: Annotated[float, Duration("from one launch to the next", low=1, high=600)] = 1.0,
    start: Annotated[str, Corner("where they are launched from")] = "bottom",
    rise: Annotated[float, Duration("from launch to burst", low=0.2, high=10)] = 0.9,
    reach: Annotated[
        Varying | None,
        Length("how far the stars fly", low=1 * FT, high=200 * FT, unset="by the house's size"),
    ] = None,
    fade: Annotated[float, Duration("time in which the stars fade", low=0.1, high=20)] = 1.5,
    seed: Annotated[int, Seed("chooses the random pattern")] = 0,
) -> Light:
    """Launch sparks that burst at the roof into stars, which cool to the next colour.

    Found by: fireworks, rocket, explosion, burst, new year, sparks, boom, celebration.
    """
    box = at.high - at.low
    far = 0.8 + 0.14 * max(float(box[0]), 2 * float(box[2])) if reach is None else now(reach)
    total = np.zeros((len(t), len(at.xyz), 3), np.float32)
    own = chance.share(chance.key(seed, chance.place(at.xyz)))
    hottest = np.full(t.shape, np.argmax([sum(s.rgb) for s in palette.stops]))
    for back in range(int(np.ceil((rise + 3 * fade) / every)) + 1):
        number = np.floor(t / every) - back
        key = chance.key(seed, number.astype(np.int64))
        away, up = (chance.share(chance.key(key, axis)) for axis in (1, 2))
        across = 0.1 + 0.8 * ((number * _GOLDEN + chance.share(chance.key(seed, 1))) % 1.0)
        sky = at.low + box * np.stack([across, 0.3 * away, 0.5 + 0.45 * up], -1)
        since = t - number * every
        climb = np.clip(since / rise, 0, 1)
        head = sky + (point(at, start) - sky) * ((1 - climb) ** 2)[..., None]
        level = 0.6 * bell(norm(at.xyz - head) / 0.45) * ((climb > 0) & (climb < 1))
        level += _stars(at, sky, since - rise, far, fade, (own + number * _GOLDEN) % 1.0)
        # From the brightest colour to the launch's own, and on to the next as they cool.
        age = np.maximum(since - rise, 0.0)
        light = mix(palette.stop(number), palette.stop(number + 1), smooth(age / fade - 0.3))
        light = mix(light, palette.stop(hottest), np.exp(-np.minimum(age / 0.12, 50.0)))
        for channel in range(3):
            total[..., channel] += light[..., channel] * level
    return np.minimum(total, 1.0, out=total)


def _stars(at: At, sky: F, age: F, far: float | F, fade: float, own: F) -> F:
    """Return the level (T, N) of stars that burst at ``sky`` (T, 1, 3) ``age`` (T, 1) s ago."""
    braked = 1 - np.exp(-np.clip(age / _DRAG, 0, 50))
    # A circle as seen from the street, but as deep as any house.
    away = at.xyz - sky
    away[..., 1] /= np.maximum(3.0, float(at.high[1] - at.low[1]) / far)
    away[..., 2] += _SINK * np.maximum(age - _DRAG * braked, 0)
    off = norm(away) - far * braked
    # A bright skin flies outward; the stars behind it glow on, each for its own time.
    soft = 0.3 + 0.15 * far * braked
    fading = np.where(age < 0, 10.0, np.minimum(age / fade, 10.0))
    glow = smooth(0.5 - off / (2 * soft)) * np.exp(-fading / (0.4 + own)) * (0.35 + 0.4 * own)
    return np.asarray(smooth(3 - fading) * (bell(off / soft) * np.exp(-2 * fading) + glow))
