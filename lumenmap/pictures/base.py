"""The picture with every lamp out: sky, dark faces, lit windows; by day the sun."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.camera import Camera
from lumenmap.pictures.fragments import Fragments
from lumenmap.pictures.look import Look
from lumenmap.pictures.shadow import inside, occluders
from lumenmap.pictures.sky import Sky, hour, sky_light
from lumenmap.pictures.surface import Surface, seen_side
from lumenmap.pictures.texture import texture

F = NDArray[np.float64]

#: Light on a face that looks down, as a part of what falls on a level one: the ground gives back.
UNDER = 0.10
#: Distance over which haze takes the far ground (m).
HAZE = 110.0


def base_light(
    surfaces: Sequence[Surface], seen: Fragments, camera: Camera, look: Look
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return the (H·W, 3) linear light without lamps, and each fragment's texture factor (F,)."""
    sky = hour(look)
    light = np.zeros((len(seen.surface), 3))
    detail = np.ones(len(seen.surface), np.float32)
    rows = seen.of(-1)
    light[rows] = sky_light(sky, seen.rays[rows], 1 / camera.focal)
    shades = occluders(surfaces)
    for index, rows, points in seen.points(surfaces, camera):
        surface = replace(surfaces[index], normal=seen_side(surfaces[index], camera.position))
        depth = (points - camera.position) @ camera.turn[2]
        slant = np.abs(seen.rays[rows] @ surface.normal) / np.linalg.norm(seen.rays[rows], axis=1)
        detail[rows] = texture(surface, points, depth / camera.focal / np.maximum(slant, 0.08))
        fall = _falling(surface, points, sky, shades, look)
        level = np.asarray(surface.colour) * fall + surface.glow
        level = level * detail[rows][:, None]
        if surface.kind == "glass":
            level += _reflected(sky, seen.rays[rows], surface)
        if surface.kind in ("ground", "street", "snow", "path"):
            clear = np.exp(-np.maximum(depth - 25, 0) / HAZE)[:, None]
            level = level * clear + 0.30 * np.asarray(sky.horizon) * (1 - clear)
        light[rows] = level
    size = camera.width * camera.height
    base = np.stack(
        [np.bincount(seen.element, seen.weight * light[:, c], size) for c in range(3)], axis=1
    )
    return base.astype(np.float32), detail


def _falling(surface: Surface, points: F, sky: Sky, shades: Sequence[Surface], look: Look) -> F:
    """Return (K, 3) light that falls on a white face: open sky, ground, sun or moon."""
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
        facing = 0.45  # leaves face every way
    if facing <= 0:
        return np.asarray(fall, np.float64)
    reach = np.asarray(sky.beam) * facing
    if look.time != "day":
        return np.asarray(fall + reach, np.float64)
    sunny = np.ones(len(points))
    for first in range(0, len(points), 50_000):
        part = slice(first, first + 50_000)
        start = points[part] + 0.02 * surface.normal
        sunny[part] = 1 - _away(start, 60.0 * towards, shades)
    return np.asarray(fall + reach * sunny[:, None], np.float64)


def _away(starts: F, way: F, shades: Sequence[Surface]) -> NDArray[np.bool_]:
    """Return (K,) whether a face lies between each start and that far along one direction."""
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
    """Return (K, 3) sky mirrored by glass; 6 % is about what two sides of a pane give back."""
    unit = rays / np.linalg.norm(rays, axis=1, keepdims=True)
    back = unit - 2 * (unit @ surface.normal)[:, None] * surface.normal
    rise = np.clip(back[:, 2], 0, 1)[:, None]
    low = np.exp(-rise / sky.glow)
    mirrored: F = 0.06 * (np.asarray(sky.zenith) * (1 - low) + np.asarray(sky.horizon) * low)
    return mirrored
