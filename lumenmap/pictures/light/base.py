"""The picture with every lamp off: sky, dark faces, lit windows; by day the sun."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.fragments import Fragments
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.shadow import inside, occluders
from lumenmap.pictures.scene.sky import SKIES, Sky, far_colour, sky_light
from lumenmap.pictures.scene.surface import Surface, seen_side
from lumenmap.pictures.scene.texture import texture

F = NDArray[np.float64]

#: Light on a face that faces down, relative to one that faces up: light reflected by the ground.
UNDER = 0.10
#: Distance over which haze swallows the far ground (m).
HAZE = 110.0
#: Glare around bright faces: strength, and width relative to the height of the picture.
GLARE = ((0.10, 1 / 70), (0.07, 1 / 16))


def base_light(
    surfaces: Sequence[Surface], seen: Fragments, camera: Camera, look: Look
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return (H·W, 3) linear light without the lamps, and (F,) texture factors of the fragments."""
    sky = SKIES[look.time]
    light = np.zeros((len(seen.surface), 3))
    detail = np.ones(len(seen.surface), np.float32)
    rows = seen.of(-1)
    light[rows] = sky_light(sky, seen.rays[rows], 1 / camera.focal)
    shades = occluders(surfaces)
    glowing: list[slice] = []
    for index, rows, points in seen.points(surfaces, camera):
        surface = replace(surfaces[index], normal=seen_side(surfaces[index], camera.position))
        depth = (points - camera.position) @ camera.turn[2]
        slant = np.abs(seen.rays[rows] @ surface.normal) / np.linalg.norm(seen.rays[rows], axis=1)
        detail[rows] = texture(surface, points, depth / camera.focal / np.maximum(slant, 0.08))
        fall = _incident(surface, points, sky, shades, look)
        level = np.asarray(surface.colour) * fall + surface.glow
        level = level * detail[rows][:, None]
        if any(surface.glow):
            glowing.append(rows)
        if surface.kind == "glass":
            level += _reflected(sky, seen.rays[rows], surface)
        if surface.kind in ("ground", "street", "snow", "path"):
            clear = np.exp(-np.maximum(depth - 25, 0) / HAZE)[:, None]
            level = level * clear + far_colour(sky) * (1 - clear)
        light[rows] = level
    size = camera.width * camera.height
    base = _gathered(seen, light, size)
    if glowing:
        bright = np.concatenate([np.arange(r.start, r.stop) for r in glowing])
        base += _glare(_gathered(seen, light, size, bright), camera)
    return base.astype(np.float32), detail


def _gathered(
    seen: Fragments, light: F, size: int, rows: NDArray[np.int64] | slice = slice(None)
) -> F:
    """Return (H·W, 3) light of the picture's pixels from that of fragments, all or some rows."""
    pixel, weight = seen.pixel[rows], seen.weight[rows]
    parts = [np.bincount(pixel, weight * light[rows, c], size) for c in range(3)]
    return np.stack(parts, axis=1)


def _glare(bright: F, camera: Camera) -> F:
    """Return the glare around bright faces: a narrow and a wide blur, as around the lamps."""
    from scipy import ndimage  # not needed if the light is cached

    picture = bright.reshape(camera.height, camera.width, 3)
    out = np.zeros_like(picture)
    for part, share in GLARE:
        sigma = share * camera.height
        # Reduced first: the same result as blurring the whole picture, many times as fast.
        thin = max(1, int(sigma / 3))
        small = ndimage.uniform_filter(picture, (thin, thin, 1))[::thin, ::thin]
        soft = ndimage.gaussian_filter(small, (sigma / thin, sigma / thin, 0))
        y = np.minimum(np.arange(camera.height) / thin, soft.shape[0] - 1)
        x = np.minimum(np.arange(camera.width) / thin, soft.shape[1] - 1)
        out += part * _between(_between(soft, y).swapaxes(0, 1), x).swapaxes(0, 1)
    return out.reshape(bright.shape)


def _between(rows: F, at: F) -> F:
    """Return rows at fractional indices, interpolated linearly."""
    low = np.floor(at).astype(int)
    part = (at - low)[:, None, None]
    return np.asarray(rows[low] * (1 - part) + rows[np.minimum(low + 1, len(rows) - 1)] * part)


def _incident(surface: Surface, points: F, sky: Sky, shades: Sequence[Surface], look: Look) -> F:
    """Return (K, 3) radiance of a white face by the light of sky, ground, sun or moon."""
    open_sky = UNDER + (1 - UNDER) * (1 + surface.normal[2]) / 2
    if look.snow:
        open_sky += 0.25 * (1 - surface.normal[2]) / 2
    if surface.kind == "wall":
        # Walls are darker near the ground and under the eave, where less sky is seen.
        foot = 1 - 0.30 * np.exp(-np.maximum(points[:, 2], 0) / 0.5)
        fall = np.asarray(sky.ambient) * (open_sky * foot)[:, None]
    else:
        fall = np.broadcast_to(np.asarray(sky.ambient) * open_sky, points.shape)
    towards = np.asarray(sky.towards) / np.linalg.norm(sky.towards)
    facing = float(surface.normal @ towards)
    if surface.kind in ("tree", "shrub"):
        facing = 0.45  # leaves face in every direction
    if facing <= 0:
        return np.asarray(fall, np.float64)
    reach = np.asarray(sky.beam) * facing
    if look.time != "day":
        return np.asarray(fall + reach, np.float64)
    sunny = np.ones(len(points))
    for first in range(0, len(points), 50_000):
        part = slice(first, first + 50_000)
        start = points[part] + 0.02 * surface.normal
        sunny[part] = 1 - _in_shade(start, 60.0 * towards, shades)
    return np.asarray(fall + reach * sunny[:, None], np.float64)


def _in_shade(starts: F, way: F, shades: Sequence[Surface]) -> NDArray[np.bool_]:
    """Return (K,) whether a face blocks the line from each start along a vector."""
    out = np.zeros(len(starts), bool)
    for face in shades:
        slant = float(way @ face.normal)
        if abs(slant) < 1e-9:
            continue
        part = ((face.corners[0] - starts) @ face.normal) / slant
        ahead = np.flatnonzero((part > 1e-3) & (part < 1) & ~out)
        if len(ahead):
            out[ahead] = inside(starts[ahead] + part[ahead, None] * way, face)
    return out


def _reflected(sky: Sky, rays: F, surface: Surface) -> F:
    """Return (K, 3) sky mirrored by glass; the two sides of a pane reflect about 6 %."""
    unit = rays / np.linalg.norm(rays, axis=1, keepdims=True)
    back = unit - 2 * (unit @ surface.normal)[:, None] * surface.normal
    rise = np.clip(back[:, 2], 0, 1)[:, None]
    low = np.exp(-rise / sky.glow)
    mirrored: F = 0.06 * (np.asarray(sky.zenith) * (1 - low) + np.asarray(sky.horizon) * low)
    return mirrored
