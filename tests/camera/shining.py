"""Light on a filmed house, lamp by lamp, by a model of its own: for films whose light is measured.

Lambert's cosine law and the inverse square law (as any textbook of photometry has them), computed
for every lamp at every second pixel of the film. Nothing is shared with how lumenmap draws light,
but the house's faces and their colours. Shadows aren't drawn; a face lit from behind stays dark.
"""

from __future__ import annotations

import cv2
import numpy as np

from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene

#: Light is computed at every so many pixels each way, and this far from a lamp (m).
COARSE, FAR = 2, 5.0
#: The light of so many levels is remembered.
KEPT = 8


class Shining:
    """What each lamp adds to the film, flat and coarse; ``bend`` maps a film's pixels to it."""

    def __init__(self, site, camera, bend, background, strength):
        small = Camera(
            camera.position,
            camera.turn,
            camera.focal / COARSE,
            (camera.centre[0] / COARSE, camera.centre[1] / COARSE),
            camera.width // COARSE,
            camera.height // COARSE,
        )
        surfaces = scene(site.house, Look(trees=False))
        raster = rasterise(surfaces, small, samples=1)
        self.shape = raster.surface.shape
        lamps, facing = lamp_places(site)
        rows, columns = np.nonzero(raster.surface >= 0)
        which = raster.surface[rows, columns]
        places = raster.places()[rows, columns]
        points = small.position + small.rays(places) * raster.depth(rows, columns)[:, None]
        normals = np.array([s.normal for s in surfaces])[which]
        normals *= np.sign(((small.position - points) * normals).sum(1))[:, None]
        least = np.full(len(points), np.inf)
        for lamp in lamps[::8]:
            least = np.minimum(least, np.linalg.norm(points - lamp, axis=1))
        near = least < FAR
        self.at = rows[near] * self.shape[1] + columns[near]
        self.colour = np.array([s.colour for s in surfaces], np.float32)[which[near]]
        points, normals = points[near], normals[near]
        self.light = np.empty((len(points), len(lamps)), np.float32)
        for n, lamp in enumerate(lamps):
            away = lamp - points
            square = (away**2).sum(1) + 0.03**2
            distance = np.sqrt(square)
            falls = np.maximum((away * normals).sum(1) / distance, 0)
            beam = np.clip(0.3 - 0.7 * (away @ facing[n]) / distance, 0, 1)
            self.light[:, n] = strength * beam * falls / square
        self.x, self.y = (b / COARSE - 0.25 for b in bend)
        # Boards and shingles: the background without its own slow changes.
        grey = background.mean(-1)
        detail = grey / np.maximum(cv2.GaussianBlur(grey, (0, 0), 6), 1e-4)
        self.detail = np.clip(detail, 0.5, 1.6).astype(np.float32)
        self._falls: dict[bytes, np.ndarray] = {}

    def of(self, level, k):
        """(H, W) what levels (N,) of one channel add to the film."""
        flat = np.zeros(self.shape[0] * self.shape[1], np.float32)
        colour = self.colour.mean(1) if k is None else self.colour[:, k]
        flat[self.at] = self._falling(level.astype(np.float32)) * colour
        shown = cv2.remap(flat.reshape(self.shape), self.x, self.y, cv2.INTER_LINEAR)
        return shown * self.detail

    def _falling(self, level):
        """(P,) the light of levels (N,); a picture lasts several frames, and white has one level."""
        key = level.tobytes()
        if key not in self._falls:
            if len(self._falls) == KEPT:
                del self._falls[next(iter(self._falls))]
            lit = np.flatnonzero(level)
            self._falls[key] = self.light[:, lit] @ level[lit] if len(lit) else 0 * self.light[:, 0]
        return self._falls[key]
