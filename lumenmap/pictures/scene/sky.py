"""The sky by time of day, its light on faces and that of sun or moon, stars, a far tree line."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.ambient import DUSK_SUN, NIGHT_LUX, lux_of, twilight_lux
from lumenmap.pictures.scene.look import Time
from lumenmap.pictures.scene.surface import Colour
from lumenmap.pictures.scene.texture import noise

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Sky:
    """Linear light at a time of day.

    ``zenith``, ``horizon``: radiance. ``ambient``: radiance of a white level face under open sky.
    ``beam``: radiance that sun or moon, from ``towards``, add to a white face square to them.
    Both are scaled until a level face gets its lux.
    ``stars``: 0..1. ``glow``: how high the light at the horizon reaches (sine of elevation).
    """

    zenith: Colour
    horizon: Colour
    ambient: Colour
    beam: Colour
    towards: Colour
    stars: float
    glow: float


#: Their colours, chosen by eye, and how much each part has of the light.
_CHOSEN: dict[Time, Sky] = {
    "day": Sky(
        (0.16, 0.33, 0.74),
        (0.62, 0.74, 0.90),
        (0.42, 0.48, 0.58),
        (1.05, 0.98, 0.84),
        (-0.50, -0.62, 0.60),
        0.0,
        0.30,
    ),
    "dusk": Sky(
        (0.0046, 0.0125, 0.0480),
        (0.175, 0.108, 0.082),
        (0.082, 0.102, 0.172),
        (0.066, 0.086, 0.132),
        (-0.75, -0.45, 0.50),
        0.5,
        0.115,
    ),
    "night": Sky(
        (0.0012, 0.0018, 0.0048),
        (0.0085, 0.0095, 0.0155),
        (0.0300, 0.0350, 0.0560),
        (0.034, 0.041, 0.058),
        (-0.75, -0.45, 0.50),
        1.0,
        0.22,
    ),
}


def _lit(sky: Sky, lux: float) -> Sky:
    """Return a sky whose light gives so many lux on level ground."""
    down = sky.towards[2] / float(np.linalg.norm(sky.towards))
    level = np.asarray(sky.ambient) + np.asarray(sky.beam) * down
    part = lux / lux_of(level)

    def scaled(colour: Colour) -> Colour:
        return (part * colour[0], part * colour[1], part * colour[2])

    return replace(sky, ambient=scaled(sky.ambient), beam=scaled(sky.beam))


#: The skies of pictures. By day the camera's exposure is another: lamps are off.
SKIES: dict[Time, Sky] = {
    "day": _CHOSEN["day"],
    "dusk": _lit(_CHOSEN["dusk"], twilight_lux(DUSK_SUN)),
    "night": _lit(_CHOSEN["night"], NIGHT_LUX),
}
#: Height of the far trees (sine of elevation) and how their colour relates to the horizon's.
FAR_TREES = 0.038
FAR = 0.13
#: Noise, as a part of the sky's light, so that 8 bits show no bands.
GRAIN = 0.035


def sky_light(sky: Sky, rays: F, blur: float) -> F:
    """Return (K, 3) linear radiance along (K, 3) rays; ``blur`` is the angle of a pixel."""
    unit = rays / np.linalg.norm(rays, axis=-1, keepdims=True)
    rise = np.clip(unit[:, 2], 0, 1)[:, None]
    low = np.exp(-rise / sky.glow)
    light: F = np.asarray(sky.zenith) * (1 - low) + np.asarray(sky.horizon) * low
    bearing = np.arctan2(unit[:, 0], unit[:, 1])
    if sky.stars:
        light += _stars(bearing, unit[:, 2], blur)[:, None] * sky.stars
    crown = FAR_TREES * (
        1
        + 0.30 * noise(bearing * 7, bearing * 0, 1)
        + 0.16 * noise(bearing * 75, bearing * 0, 2)
        + 0.11 * noise(bearing * 310, bearing * 0, 4)
    )
    under = np.clip((crown - unit[:, 2]) / max(blur, 1e-6) + 0.5, 0, 1)[:, None]
    light *= 1 + GRAIN * noise(bearing / blur, unit[:, 2] / blur, 41)[:, None]
    out: F = light * (1 - under) + far_colour(sky) * under
    return out


def far_colour(sky: Sky) -> F:
    """Return the colour of everything in the far haze: trees at the horizon, fields."""
    return FAR * np.asarray(sky.horizon) + 0.25 * np.asarray(sky.zenith)


def _stars(bearing: F, rise: F, blur: float) -> F:
    """Return stars: small soft dots in some cells of a grid on the sky."""
    cell = 0.035
    u, v = bearing / cell, rise / cell
    iu, iv = np.floor(u), np.floor(v)
    there = noise(iu, iv, 21) > 0.72
    x = iu + 0.5 + 0.4 * noise(iu, iv, 22)
    y = iv + 0.5 + 0.4 * noise(iu, iv, 23)
    size = 0.75 * blur / cell
    bright = 0.02 + 0.16 * np.maximum(noise(iu, iv, 24), 0) ** 2
    dot = np.exp(-np.minimum(((u - x) ** 2 + (v - y) ** 2) / (2 * size**2), 50))
    dark = np.clip((rise - 0.10) / 0.25, 0, 1)
    out: F = there * bright * dot * dark
    return out
