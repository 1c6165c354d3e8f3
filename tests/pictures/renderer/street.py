"""`Street`: photographs by day and pictures by night of a house in a street, by Mitsuba.

As unlike lumenmap's model as a real house is: boards and shingles, paint that isn't quite the house
file's, panes that mirror, a sun and clouds, trees and shrubs that throw shadows, a car, downspouts;
and a telephone that exposes by itself, warms the colours and compresses what is bright.
"""

from __future__ import annotations

import mitsuba as mi
import numpy as np
import trimesh
from scipy.ndimage import gaussian_filter

from lumenmap.colour.transfer import to_srgb
from lumenmap.pictures.drawn.exposure import exposure
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.drawn.tone import STEPS, tone_table
from lumenmap.pictures.scene.ambient import LUMINANCE, STRENGTH
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.openings import opening
from lumenmap.pictures.scene.sky import SKIES
from tests.camera.sun.daylight import LIGHT, OVERCAST, towards
from tests.pictures.renderer.parts import (
    corners_of,
    diffuse,
    flat,
    ground,
    lamps,
    mesh,
    rgb,
    seen,
    shone,
    suns,
)

#: A pane: a smooth coat over a dark room.
PANE = {"type": "plastic", "int_ior": 1.5, "diffuse_reflectance": rgb((0.03, 0.03, 0.035))}
#: Widths of the pictures on faces (m).
TILES = {"siding": 1.92, "shingles": 2.4, "plain": 2.0, "grass": 3.0}
#: How unlike the file's colours paint is (log), each channel and all of them.
PAINT = 0.12
#: How wide the sun is (as a part of 1 m away), and the light of dusk around its middle.
SUN, DUSK = 0.003, 0.35
#: Bounces between faces.
BOUNCES = 4


class Street:
    """Pictures of a house by day and by night.

    ``sun`` is its bearing and height (degrees), or None: overcast. ``samples`` a pixel are traced.
    """

    def __init__(self, site, sun=(219.0, 37.0), weather="clear", *, seed=1, samples=64):
        self.site, self.sun, self.samples = site, sun, samples
        self.rng = np.random.default_rng(seed)
        self.sky, self.beam = LIGHT[weather] if sun else (OVERCAST, (0.0, 0, 0))
        self.textures = _textures(self.rng)
        corners = np.concatenate([f.corners for f in site.house.faces])
        self.low, self.high = corners.min(0), corners.max(0)
        self.shapes = [*self._house(), *self._ground(), *self._plants(), *self._things()]

    def day(self, camera):
        """(H, W, 3) sRGB codes of a telephone's photograph."""
        lights = {"sky": self._sky()}
        if self.sun:
            lights |= suns(towards(self.sun), self.beam, SUN, 6)
        return telephone(seen(self.shapes, camera, lights, BOUNCES, self.samples))

    def night(self, camera, light):
        """(H, W, 3) sRGB codes by lumenmap's tone curve; the lamps' own images are lumenmap's."""
        dusk = SKIES["dusk"]
        lights = {"sky": {"type": "constant", "radiance": rgb(dusk.ambient)}}
        lights |= suns(np.array(dusk.towards), dusk.beam, DUSK, 40)
        dark = seen(self.shapes, camera, lights, BOUNCES, self.samples)
        lit = lamps(self.site, light, STRENGTH)
        wash = shone(self.shapes, camera, lit, BOUNCES, 2 * self.samples)
        size = {"width": camera.width, "height": camera.height}
        own = Preview(self.site, **size, view=camera, look=Look("dusk", trees=False))
        images = (own.parts.images.matrix() @ light).reshape(dark.shape)
        steps = (dark + wash + images) * exposure(self.site, "dusk") * STEPS
        return tone_table()[np.minimum(steps, 65535).astype(int)]

    def _matt(self, name, colour):
        return diffuse(self.textures[name][..., None] * np.asarray(colour))

    def _house(self):
        paint = {}
        for face in self.site.house.faces:
            if face.kind not in paint:
                all_of_it = self.rng.normal(0, PAINT)
                paint[face.kind] = np.exp(all_of_it + self.rng.normal(0, PAINT, 3))
            name = {"wall": "siding", "roof": "shingles"}.get(face.kind, "plain")
            colour = np.clip(face.colour * paint[face.kind], 0.02, 0.85)
            yield flat(corners_of(face), self._matt(name, colour), TILES[name])
            if face.kind in ("window", "door"):
                for part in filter(None, opening(face, Look("day"))):
                    pane = {"type": "twosided", "bsdf": PANE}
                    matt = self._matt("plain", part.colour)
                    yield flat(part.corners, pane if part.kind == "glass" else matt, 2.0)

    def _ground(self):
        yield flat(ground(self.site), self._matt("grass", (0.05, 0.085, 0.03)), TILES["grass"])
        kerb = self.low[1] - 6.5
        street = ((self.low[0] - 60, kerb - 7), (self.high[0] + 60, kerb), 0.01, 0.07)
        drive = ((self.low[0] - 4.5, kerb), (self.low[0] - 1.2, self.high[1]), 0.015, 0.24)
        for (left, near), (right, far), z, grey in (street, drive):
            corners = [(left, near, z), (right, near, z), (right, far, z), (left, far, z)]
            yield flat(corners, self._matt("plain", (grey,) * 3), TILES["plain"])

    def _plants(self):
        rng, (left, near, _), (right, far, _) = self.rng, self.low, self.high
        for x in np.arange(left + 1, right - 1, rng.uniform(2.2, 3.2)):
            size = rng.uniform((0.4, 0.45, 0.35), (0.8, 0.45, 0.6))
            yield self._leaves((x, near - rng.uniform(0.6, 1.0), 0.35), size, (0.03, 0.06, 0.02))
        trees = (
            (left - 3, near - 3, 5.5),
            (right + 4, far + 2, 8),
            (left - 5, far + 6, 9),
            ((left + right) / 2, far + 9, 10),
        )
        for x, y, tall in trees:
            yield _box((x - 0.15, y - 0.15, 0), (x + 0.15, y + 0.15, tall / 2), (0.06, 0.045, 0.03))
            for _ in range(14):
                at = (x, y, 0.68 * tall) + tall * rng.normal(0, (0.13, 0.13, 0.15))
                size = np.full(3, tall * rng.uniform(0.07, 0.13))
                yield self._leaves(at, size, np.array((0.035, 0.07, 0.02)) * rng.uniform(0.7, 1.3))

    def _leaves(self, middle, size, colour):
        ball = trimesh.creation.icosphere(subdivisions=3)
        x, y, z = ball.vertices.T
        bumps = 1 + 0.22 * np.sin(7 * x + 9 * y + 5 * z) + 0.06 * self.rng.normal(size=len(x))
        return mesh(middle + ball.vertices * bumps[:, None] * size, ball.faces, diffuse(colour))

    def _things(self):
        (left, near, _), (right, far, _) = self.low, self.high
        x, y = left - 2.8, near - 3.6
        yield _box((x - 0.9, y - 2.1, 0.3), (x + 0.9, y + 2.1, 0.95), (0.35, 0.03, 0.03))
        yield _box((x - 0.75, y - 0.9, 0.95), (x + 0.75, y + 1.4, 1.5), (0.02, 0.02, 0.02))
        for x in (left + 0.5, right - 0.5):
            yield _box((x - 0.04, near - 0.02, 0.1), (x + 0.04, near + 0.08, 2.3), (0.6, 0.6, 0.58))
        yield _box((right + 14, near + 2, 0), (right + 24, far + 3, 5), (0.4, 0.33, 0.25))

    def _sky(self):
        """The sky by day: clouds if there is a sun, and on level ground as much light as `LIGHT`."""
        rows, columns = 64, 128
        up = (0.5 - (np.arange(rows) + 0.5) / rows) * np.pi
        high = np.sqrt(np.clip(np.sin(up), 0, 1))[:, None, None]
        horizon, zenith = ((1.25, 1.2, 1.05), (0.45, 0.75, 1.35)) if self.sun else ((1,) * 3,) * 2
        sky = np.tile(np.array(horizon) * (1 - high) + np.array(zenith) * high, (1, columns, 1))
        if self.sun:
            clouds = _noise(np.random.default_rng(5), (rows, columns), {2: 0.5, 6: 0.8})
            clouds = np.clip(clouds - 0.6, 0, 1)[..., None]
            sky = sky * (1 - clouds) + 2.2 * clouds
        sky[up < 0] = 0.25 * sky[up > 0][-1].mean(0)
        onto = np.where(up > 0, np.sin(up) * np.cos(up), 0)
        level = (sky.mean(1) * onto[:, None]).sum(0) * np.pi / rows * 2 * np.pi
        sky *= np.pi * np.array(self.sky) / level
        turned = mi.ScalarTransform4f().rotate([1, 0, 0], 90)
        picture = mi.Bitmap(sky.astype(np.float32))
        return {"type": "envmap", "bitmap": picture, "to_world": turned}


def telephone(linear):
    """sRGB codes of a picture (H, W, 3): exposed by itself, warmer, bright things compressed."""
    gain = 0.9 / np.quantile(linear @ LUMINANCE, 0.985)
    exposed = 1 - np.exp(-1.6 * gain * linear * (1.04, 1.0, 0.95))
    return np.rint(255 * to_srgb(np.clip(exposed / (1 - np.exp(-1.6)), 0, 1))).astype(np.uint8)


def _box(low, high, colour):
    made = trimesh.creation.box(bounds=[low, high])
    return mesh(made.vertices, made.faces, diffuse(colour))


def _noise(rng, shape, weights):
    """Noise that repeats: the sum of some of so many pixels' width, each with its weight."""
    out = np.zeros(shape)
    for sigma, weight in weights.items():
        part = gaussian_filter(rng.normal(size=shape), sigma, mode="wrap")
        out += weight * part / part.std()
    return out


def _textures(rng):
    """Pictures that repeat, as factors on a face's colour: boards, shingles, grass, plain paint."""
    size = 512
    row = np.arange(size)[:, None] / size
    board, part = np.divmod(16 * row, 1)
    grain = rng.uniform(0.93, 1.07, 16)[board.astype(int)]
    grain = grain * (1 + 0.02 * _noise(rng, (size, size), {1: 0.6, 30: 0.6}))
    siding = grain * np.where(part < 0.10, 0.45, np.where(part < 0.16, 0.8, 1.0))
    course, part = np.divmod(12 * row, 1)
    tab = (np.arange(size)[None] / size * 8 + course % 2 / 2).astype(int) % 8
    tone = rng.uniform(0.72, 1.3, (12, 8))[course.astype(int), tab]
    shingles = tone * np.where(part < 0.12, 0.55, 1.0)
    return {
        "siding": siding,
        "shingles": shingles * (1 + 0.15 * _noise(rng, (size, size), {1: 1.0})),
        "grass": 1 + 0.35 * _noise(rng, (size, size), {1: 0.6, 6: 0.5, 40: 0.6}),
        "plain": 1 + 0.04 * _noise(rng, (256, 256), {1: 0.6, 12: 0.8}),
    }
