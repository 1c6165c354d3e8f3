"""Which lamps of an invented house a film shows, and where: by OpenCV's camera."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.shadow import blocked, occluders
from tests.camera.standing import stand


@lru_cache(maxsize=12)
def _shades(site):
    return occluders(scene(site.house, Look(trees=False)))


class Lamps:
    """Where each lamp is seen: ``places`` (N, 2), whether ``visible`` (N,), how bright (N,)."""

    def __init__(self, site, take):
        rng = take.rng
        self.camera = stand(site, take)
        lamps, facing = lamp_places(site)
        edge = site.pixels.edge
        # Rails hang a little off the model, each in its own way.
        hung = rng if take.hung is None else np.random.default_rng(take.hung)
        for e in np.unique(edge):
            lamps[edge == e] += hung.normal(0, take.off_by, 3) * (1, 0.3, 1)
        self.places = self.camera.project(lamps)
        towards = self.camera.position - lamps
        away = np.linalg.norm(towards, axis=1)
        cosine = (towards * facing).sum(1) / away
        seen = ~blocked(self.camera.position[None], lamps + 0.05 * facing, _shades(site), 0.12)[0]
        inside = ((self.places > 4) & (self.places < (take.width - 4, take.height - 4))).all(1)
        self.visible = seen & inside & (cosine > -0.3) & site.pixels.lit
        self.strength = np.where(
            self.visible, (0.35 + 0.65 * np.clip(cosine, 0, 1)) * (away.min() / away) ** 2, 0.0
        )
        self._hide(rng, take.hidden)

    def _hide(self, rng, part):
        """Trees, posts and gutters in front: stretches of pixels that the camera can't see."""
        left = int(part * self.visible.sum())
        while left >= 4:  # fewer in a row can't be told from pixels that are dark
            size = int(min(left, rng.integers(4, 30)))
            first = int(rng.integers(0, max(1, len(self.visible) - size)))
            gone = np.arange(first, first + size)
            left -= int(self.visible[gone].sum())
            self.visible[gone] = False
            self.strength[gone] = 0
