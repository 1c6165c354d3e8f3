"""Photographs by day and pictures by night for the tests of `--photo`, by two renderers.

`Drawn` is lumenmap's own, with the sun anywhere. `Traced` is the independent one of
`tests.pictures.tracer`: a sun with hard shadows, an even sky, light that bounces, and trees that the
house file doesn't know. Boards and shingles are painted on.
"""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import replace

import numpy as np
import trimesh
from scipy.ndimage import gaussian_filter

from lumenmap.house.model import Face
from lumenmap.pictures.drawn.exposure import exposure
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.drawn.tone import STEPS, tone_table
from lumenmap.pictures.scene.ambient import STRENGTH
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.openings import opening
from lumenmap.pictures.scene.sky import SKIES
from tests.pictures.tracer import Sky, World

#: The sun: degrees clockwise from +y (away from the street), and above the horizon. None: overcast.
Sun = tuple[float, float] | None
#: Sky light, and sunlight on a face square to it, as radiance of a white face: a clear day has
#: about five times as much from the sun as from the sky on level ground (common practice, no
#: source), a hazy one twice; the first is lumenmap's own day.
LIGHT = {
    "hazy": ((0.42, 0.48, 0.58), (1.05, 0.98, 0.84)),
    "clear": ((0.26, 0.31, 0.40), (1.4, 1.3, 1.1)),
}
OVERCAST = (1.0, 1.02, 1.05)
#: Light from sky and faces is traced for one pixel in so many each way.
THIN = 3


def towards(sun: Sun) -> np.ndarray:
    """The unit vector to the sun."""
    bearing, height = np.radians(sun)
    return np.array(
        [np.cos(height) * np.sin(bearing), np.cos(height) * np.cos(bearing), np.sin(height)]
    )


class Drawn:
    """lumenmap's pictures, with the sun anywhere or overcast."""

    def __init__(self, site, sun: Sun = (219.0, 37.0)):
        self.site, self.sun = site, sun

    def day(self, camera):
        """(H, W, 3) sRGB codes."""
        with self._shining():
            return self._seen(camera, "day", np.zeros((len(self.site.pixels), 3), np.float32))

    def night(self, camera, light):
        """(H, W, 3) sRGB codes."""
        return self._seen(camera, "dusk", light)

    def _seen(self, camera, time, light):
        return Preview(
            self.site,
            width=camera.width,
            height=camera.height,
            view=camera,
            look=Look(time, trees=False),
        ).still(light)

    @contextmanager
    def _shining(self):
        usual = SKIES["day"]
        beam = usual.beam if self.sun else (0.0, 0.0, 0.0)
        way = tuple(towards(self.sun)) if self.sun else usual.towards
        SKIES["day"] = replace(usual, beam=beam, towards=way)
        try:
            yield
        finally:
            SKIES["day"] = usual


class Traced:
    """Pictures by the independent renderer."""

    def __init__(self, site, sun: Sun = (219.0, 37.0), weather="clear", tree=False, paths=12):
        self.site, self.sun, self.paths = site, sun, paths
        more = _tree(site, sun) if tree and sun else []
        self.world = World(site, STRENGTH, [*more, *_frames(site)])
        self.sky, self.beam = (np.array(c) for c in LIGHT[weather])
        if sun is None:
            self.sky, self.beam = np.array(OVERCAST), np.zeros(3)
        self._rng = np.random.default_rng(1)

    def day(self, camera):
        """(H, W, 3) sRGB codes."""
        way = towards(self.sun) if self.sun else np.array([0.0, 0, 1])
        none = np.zeros((len(self.site.pixels), 3))
        return self._codes(camera, none, Sky(self.sky, np.pi * self.beam, way), 1.0)

    def night(self, camera, light):
        """(H, W, 3) sRGB codes; the lamps' own images are lumenmap's."""
        dusk = SKIES["dusk"]
        down = dusk.towards[2] / np.linalg.norm(dusk.towards)
        level = np.array(dusk.ambient) + down * np.array(dusk.beam)
        own = Preview(
            self.site,
            width=camera.width,
            height=camera.height,
            view=camera,
            look=Look("dusk", trees=False),
        )
        lamps = (own.parts.images.matrix() @ light).reshape(camera.height, camera.width, 3)
        return self._codes(camera, light, Sky(level), exposure(self.site, "dusk"), lamps)

    def _codes(self, camera, light, sky, exposed, lamps=0.0):
        x, y = np.meshgrid(np.arange(camera.width) + 0.5, np.arange(camera.height) + 0.5)
        ways = camera.rays(np.stack([x, y], -1).reshape(-1, 2))
        ways /= np.linalg.norm(ways, axis=1, keepdims=True)
        at, met = self.world.meet(np.broadcast_to(camera.position, ways.shape).copy(), ways)
        owner = self.world.owner[at.triangle]
        size = (camera.height, camera.width)
        some = np.flatnonzero((met % size[1] % THIN == 0) & (met // size[1] % THIN == 0))
        around = self.world.around(at[some], light, sky, self._rng, self.paths)
        fell = _even(around, some, owner, met, size, 4)
        if light.any():
            some = np.flatnonzero((met % size[1] + met // size[1]) % 4 == 0)
            fell += _even(self.world.direct(at[some]) @ light, some, owner, met, size, 1)
        fell += self.world.sunlit(at, sky)
        shown = np.tile(sky.dome * 0.9, (len(ways), 1))
        paint = self.world.reflects(at) * _paint(at, np.array(self.world.kind)[owner])[:, None]
        shown[met] = paint * fell / np.pi
        shown = shown.reshape(camera.height, camera.width, 3) + lamps
        steps = np.minimum(shown * exposed * STEPS, 65535).astype(int)
        return tone_table()[steps]


class Once:
    """The same pictures for both, made once."""

    def __init__(self, seen: Drawn | Traced) -> None:
        self._seen, self._made = seen, {}

    def day(self, camera):
        """As `Traced.day`."""
        if "day" not in self._made:
            self._made["day"] = self._seen.day(camera)
        return self._made["day"]

    def night(self, camera, light):
        """As `Traced.night`."""
        if "night" not in self._made:
            self._made["night"] = self._seen.night(camera, light)
        return self._made["night"]


def _even(around, some, owner, met, size, sigma):
    """Light from sky and faces is even: it is known at some points, and what they differ by is noise."""
    out = np.zeros((len(met), 3))
    known = np.zeros((size[0] * size[1], 4))
    for face in np.unique(owner):
        rows = np.flatnonzero(owner == face)
        mine = np.flatnonzero(owner[some] == face)
        if not len(mine):
            continue
        y, x = np.divmod(met[rows], size[1])
        box = (slice(y.min(), y.max() + 1), slice(x.min(), x.max() + 1))
        at = met[some[mine]]
        known[at, :3], known[at, 3] = around[mine], 1
        part = gaussian_filter(known.reshape(*size, 4)[box], (sigma, sigma, 0), truncate=8)
        known[at] = 0
        found = part[y - y.min(), x - x.min()]
        out[rows] = found[:, :3] / np.maximum(found[:, 3:], 1e-12)
    return out


def _paint(at, kind):
    """Boards 12 cm wide on walls, courses on roofs: factors on what faces reflect."""
    rng = np.random.default_rng(3)
    grain = rng.uniform(0.9, 1.1, 4096)
    row = np.floor(at.xyz[:, 2] / 0.12).astype(int)
    part = at.xyz[:, 2] / 0.12 % 1
    siding = np.where(part < 0.12, 0.6, 1.0) * (0.7 + 0.3 * grain[row % 4096])
    tab = np.floor((at.xyz[:, 0] + at.xyz[:, 1]) / 0.3).astype(int)
    roof = grain[(7 * row + 13 * tab) % 4096]
    return np.select([kind == "wall", kind == "roof"], [siding, roof], 1.0)


def _frames(site):
    """Casings, sashes and panels of windows and doors, as lumenmap draws them."""
    made = []
    for face in site.house.faces:
        if face.kind in ("window", "door"):
            made += [s for s in opening(face, Look("day")) if s is not None]
    return [Face(s.name, s.kind, s.corners, s.colour) for s in made]


def _tree(site, sun):
    """A crown whose shadow falls on the middle of the longest front wall, from beside the camera."""
    walls = [f for f in site.house.faces if f.kind == "wall" and np.ptp(f.corners[:, 1]) < 0.1]
    wall = max(walls, key=lambda f: np.ptp(f.corners[:, 0]) - f.corners[:, 1].min())
    low, high = wall.corners.min(0), wall.corners.max(0)
    middle = low + (high - low) * (0.7, 0, 0.35) + 7.0 * towards(sun)
    ball = trimesh.creation.icosphere(subdivisions=2, radius=0.9)
    bumps = 1 + 0.25 * np.sin(5 * ball.vertices[:, :1] + 3 * ball.vertices[:, 2:])
    corners = middle + ball.vertices * bumps
    return [Face("tree", "roof", corners[t], (0.05, 0.08, 0.03)) for t in ball.faces]
