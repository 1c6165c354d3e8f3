"""The picture with every lamp off: sky, dark faces, lit windows; by day the sun."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.light.skylight import free_part, skylight
from lumenmap.pictures.light.sunlight import facing_sun, sunlit
from lumenmap.pictures.scene.camera import measure_of
from lumenmap.pictures.scene.fragments import Fragments
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.shadow import occluders
from lumenmap.pictures.scene.sky import SKIES, Sky, far_colour, sky_light
from lumenmap.pictures.scene.surface import Surface, seen_side
from lumenmap.pictures.scene.texture import SPREADING, Extent, extent, texture

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: Light on a face that faces down, relative to one that faces up: light reflected by the ground.
UNDER = 0.10
#: Distance over which haze swallows the far ground (m).
HAZE = 110.0
#: Glare around bright faces: strength, and width relative to the measure of the picture.
GLARE = ((0.10, 1 / 70), (0.07, 1 / 16))
#: Rows of the picture worked on at once: bounds the memory.
AT_ONCE = 64


def base_light(
    surfaces: Sequence[Surface], seen: Fragments, look: Look
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return (H·W, 3) linear light without the lamps, and (F,) texture factors of the fragments."""
    camera, sky = seen.camera, SKIES[look.time]
    base = np.zeros((camera.width * camera.height, 3))
    detail = np.ones(len(seen.pixel), np.float32)
    glowing: list[tuple[NDArray[np.int32], F]] = []
    for rows in seen.of(-1):
        _add(base, seen, rows, sky_light(sky, seen.rays(rows), 1 / camera.focal))
    shades = occluders(surfaces)
    parts = skylight(surfaces, seen, shades)
    for index, face in enumerate(surfaces):
        surface = replace(face, normal=seen_side(face, camera.position))
        spread = _extent(face, seen, index)
        for rows in seen.of(index):
            rays = seen.rays(rows)
            points = seen.points(face, rays)
            depth = (points - camera.position) @ camera.turn[2]
            slant = np.abs(rays @ surface.normal) / np.linalg.norm(rays, axis=1)
            blur = depth / camera.focal / np.maximum(slant, 0.08)
            detail[rows] = texture(surface, points, blur, spread)
            sunny = sunlit(surface, seen, rows, points, shades) if look.time == "day" else None
            fall = _incident(surface, points, parts[rows], sunny, look)
            level = np.asarray(surface.colour) * fall + surface.glow
            level = level * detail[rows][:, None]
            if surface.kind == "glass":
                level += _reflected(sky, rays, surface)
            if surface.kind in ("ground", "street", "snow", "path"):
                clear = np.exp(-np.maximum(depth - 25, 0) / HAZE)[:, None]
                level = level * clear + far_colour(sky) * (1 - clear)
            _add(base, seen, rows, level)
            if any(surface.glow):
                glowing.append((seen.pixel[rows], seen.weight(rows)[:, None] * level))
    if glowing:
        pixel, light = (np.concatenate(each) for each in zip(*glowing, strict=True))
        for channel in range(3):
            bright: F = np.bincount(pixel, light[:, channel], len(base)).astype(np.float64)
            base[:, channel] += _glare(bright.reshape(camera.height, camera.width)).ravel()
    return base.astype(np.float32), detail


def _add(base: F, seen: Fragments, rows: slice, light: F) -> None:
    """Add the light (K, 3) of fragments to the picture's pixels (H·W, 3)."""
    pixel, whole = seen.pixel[rows], seen.sample[rows] < 0
    base[pixel[whole]] = light[whole]
    weighted = seen.weight(rows)[~whole][:, None] * light[~whole]
    for channel in range(3):
        np.add.at(base[:, channel], pixel[~whole], weighted[:, channel])


def _extent(surface: Surface, seen: Fragments, index: int) -> Extent | None:
    if surface.kind not in SPREADING or not seen.count(index):
        return None
    return extent(seen.points(surface, seen.rays(rows)) for rows in seen.of(index))


def _glare(picture: F) -> F:
    """Return the glare (H, W) around bright faces: a narrow and a wide blur, as around lamps."""
    height, width = picture.shape
    out = np.zeros_like(picture)
    # Most rows and columns of a picture have nothing that glows.
    y, x = (np.flatnonzero(picture.any(axis)) for axis in (1, 0))
    bright = picture[np.ix_(y, x)]
    for part, share in GLARE:
        sigma = share * measure_of(width, height)
        # A blur is smooth: worked out at some places, it is known in between.
        thin = max(1, int(sigma / 3))
        soft = _blur(height, sigma, thin)[:, y] @ bright @ _blur(width, sigma, thin)[:, x].T
        tall = _between(soft, np.minimum(np.arange(height) / thin, soft.shape[0] - 1))
        wide = np.minimum(np.arange(width) / thin, soft.shape[1] - 1)
        for first in range(0, height, AT_ONCE):
            rows = slice(first, first + AT_ONCE)
            out[rows] += part * _between(tall[rows].T, wide).T
    return out


def _blur(count: int, sigma: float, thin: int) -> F:
    """Return the matrix of a Gaussian blur of ``count`` values, at every ``thin``-th of them.

    What is beyond the ends mirrors what is before them.
    """
    reach = int(4 * sigma + 0.5)
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    mirrored = np.pad(np.arange(count), reach, mode="symmetric")
    at = np.arange(0, count, thin)
    out = np.zeros((len(at), count))
    taken = mirrored[at[:, None] + np.arange(len(weights))]
    np.add.at(out, (np.arange(len(at))[:, None], taken), weights / weights.sum())
    return out


def _between(rows: F, at: F) -> F:
    """Return rows at fractional indices, interpolated linearly."""
    low = np.floor(at).astype(int)
    part = (at - low)[:, None]
    return np.asarray(rows[low] * (1 - part) + rows[np.minimum(low + 1, len(rows) - 1)] * part)


def _incident(surface: Surface, points: F, part: F32, sunny: F | None, look: Look) -> F:
    """Return (K, 3) radiance of a white face by the light of sky, ground, sun or moon.

    ``part`` is what of the sky's light gets to each point, ``sunny`` what of the sun's, 0..1.
    At dusk and by night, without it, the light comes from a wide part of the sky.
    """
    sky, free = SKIES[look.time], free_part(surface.normal)
    open_sky = UNDER + (1 - UNDER) * part
    if look.snow:
        open_sky += 0.25 * (1 - surface.normal[2]) / 2
    if surface.kind == "wall":  # plants and splashes keep its foot dark
        open_sky *= 1 - 0.30 * np.exp(-np.maximum(points[:, 2], 0) / 0.5)
    soft = part / free if free > 0 else np.zeros_like(part)
    reach = np.asarray(sky.beam) * facing_sun(surface, sky)
    beam = reach * (soft if sunny is None else sunny)[:, None]
    return np.asarray(np.asarray(sky.ambient) * open_sky[:, None] + beam, np.float64)


def _reflected(sky: Sky, rays: F, surface: Surface) -> F:
    """Return (K, 3) sky mirrored by glass; the two sides of a pane reflect about 6 %."""
    unit = rays / np.linalg.norm(rays, axis=1, keepdims=True)
    back = unit - 2 * (unit @ surface.normal)[:, None] * surface.normal
    rise = np.clip(back[:, 2], 0, 1)[:, None]
    low = np.exp(-rise / sky.glow)
    mirrored: F = 0.06 * (np.asarray(sky.zenith) * (1 - low) + np.asarray(sky.horizon) * low)
    return mirrored
