"""The picture with every lamp out: sky, dark faces, lit windows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.camera import Camera
from lumenmap.pictures.raster import Raster
from lumenmap.pictures.scene import Surface
from lumenmap.pictures.sky import AMBIENT, HORIZON, sky


def base_picture(
    surfaces: Sequence[Surface], raster: Raster, camera: Camera
) -> NDArray[np.float32]:
    """Return the (H, W, 3) linear light of the scene without lamps."""
    places = raster.places()
    rays = camera.rays(places)
    light = sky(rays).astype(np.float32)
    for index, surface in enumerate(surfaces):
        rows, columns = np.nonzero(raster.surface == index)
        if not len(rows):
            continue
        # A level face sees the whole sky, a wall half of it, a soffit what the ground gives back.
        open_sky = 0.10 + 0.90 * (1 + surface.normal[2]) / 2
        level = np.asarray(surface.colour) * AMBIENT * open_sky + surface.glow
        if surface.kind == "ground":
            depth = raster.depth[rows, columns]
            near = np.exp(-np.maximum(depth - 20, 0) / 90)[:, None]
            light[rows, columns] = level * near + 0.35 * np.asarray(HORIZON) * (1 - near)
        else:
            light[rows, columns] = level
    s = raster.samples
    mean = light.reshape(camera.height, s, camera.width, s, 3).mean((1, 3))
    return np.asarray(mean, np.float32)
