"""Films of invented houses as a phone would take them, by a camera model of OpenCV's and ffmpeg.

Independent of lumenmap's own camera: places in the picture come from ``cv2.projectPoints`` with
distortion. The lens's blur, glare, noise, shake, drift of exposure, rolling shutter, the neighbour's
lights, reflections and hidden pixels are invented, of sizes that are common (from memory).
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from scipy import sparse

from lumenmap.camera.blinks.blinking import FPS
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.scene.look import Look
from tests.camera.lamps import Lamps
from tests.camera.shining import Shining
from tests.camera.standing import unbent
from tests.camera.street.troubles import GLARE, WIDE, Troubles, hlg

#: Most of a lamp's image is within this many pixels of its middle.
REACH = 9


def backdrop(site, take, at):
    """(H, W, 3) linear light of the house at night without lamps, as the lens distorts it."""
    camera, x, y = unbent(take, at)
    size = {"width": camera.width, "height": camera.height}
    shown = Preview(site, **size, view=camera, look=Look("dusk")).still(
        np.zeros((len(site.pixels), 3), np.float32)
    )
    bent = cv2.remap(np.ascontiguousarray(shown), x, y, cv2.INTER_LINEAR)
    return (take.background * (bent / 255.0) ** 2.2).astype(np.float32)


class Scene:
    """Everything in a film: lamps, where they are, and what else shines."""

    def __init__(self, site, take):
        rng = take.rng
        self.take, self.site = take, site
        lamps = Lamps(site, take)
        self.camera, self.places = lamps.camera, lamps.places
        self.visible, self.strength = lamps.visible, lamps.strength
        self.count = len(self.places)
        self.troubles = Troubles(take.troubles, take, self.count)
        self.background = backdrop(site, take, self.camera)
        spots, power = [self.places], [self.strength]
        # Reflections: the same light, in a wrong place, dimmer.
        self.mirrored = (
            rng.choice(self.count, take.reflections, replace=False) if take.reflections else []
        )
        if take.reflections:
            spots.append(self.places[self.mirrored] + (rng.uniform(-30, 30), rng.uniform(40, 90)))
            power.append(0.35 * self.strength[self.mirrored])
        self.neighbours = 40 if take.neighbour else 0
        if self.neighbours:
            x = np.linspace(0.02, 0.16, self.neighbours) * take.width
            y = np.full(self.neighbours, rng.uniform(0.3, 0.45) * take.height) - 0.2 * x
            spots.append(np.stack([x, y], -1))
            power.append(np.full(self.neighbours, 0.8))
            self.beat = rng.uniform(0.6, 2.5, self.neighbours), rng.uniform(0, 1, self.neighbours)
        self.spots, self.power = np.concatenate(spots), np.concatenate(power)
        self._patches()
        self._last = {}
        if take.glow:
            camera, *bend = unbent(take, self.camera)
            self.shining = Shining(site, camera, bend, self.background, take.glow)
        self._shake()
        self.grain = [
            rng.normal(0, take.noise, (take.height, take.width)).astype(np.float32)
            for _ in range(7)
        ]

    def _patches(self):
        """Each spot's image: a sharp core and a wide veil, as (row, column, value)."""
        side = np.arange(-REACH, REACH + 1)
        dy, dx = np.meshgrid(side, side, indexing="ij")
        whole = np.floor(self.spots).astype(int)
        part = self.spots - whole - 0.5
        r2 = (dx.ravel()[None] - part[:, :1]) ** 2 + (dy.ravel()[None] - part[:, 1:]) ** 2
        bloom = self.troubles.has("bloom")
        wide = 1.05 * (WIDE if bloom else 1)
        core = (GLARE if bloom else 1) * np.exp(-r2 / (2 * wide**2)) + 0.05 * (1 + r2 / 9) ** -1.5
        self.value = (core * self.power[:, None]).astype(np.float32)
        column = whole[:, :1] + dx.ravel()
        row = whole[:, 1:] + dy.ravel()
        bad = (column < 0) | (column >= self.take.width) | (row < 0) | (row >= self.take.height)
        self.value[bad] = 0
        wide, high = self.take.width, self.take.height
        at = np.clip(row, 0, high - 1) * wide + np.clip(column, 0, wide - 1)
        spot = np.broadcast_to(np.arange(len(at))[:, None], at.shape)
        self.splat = sparse.csc_array(
            (self.value.ravel(), (at.ravel(), spot.ravel())), shape=(wide * high, len(at))
        )
        grey = self.background.mean(-1)
        self.layers = [*self.background.transpose(2, 0, 1).copy(), grey]

    def _shake(self):
        """Slow wander of a hand: up to about `shake` px, and a little roll."""
        rng, take = self.take.rng, self.take
        rates = rng.uniform(0.15, 1.6, (3, 5))
        phases = rng.uniform(0, 2 * np.pi, (3, 5))
        sizes = 1 / rates / (1 / rates).sum(1, keepdims=True)
        self.wander = lambda t: (
            np.array([take.shake, 0.8 * take.shake, 0.004 * (take.shake > 0)])
            * (sizes * np.sin(2 * np.pi * rates * t + phases)).sum(1)
        )

    def levels(self, light, time):
        """(S, 3) what each spot shows to a frame that starts at ``time``, row by row.

        ``light`` is (T, N, 3) at `FPS`, which begins at `Take.before` s of the film.
        """
        take = self.take
        y = np.clip(self.spots[:, 1] / take.height, 0, 1)
        begin = (time + y * take.rolling - take.before) * FPS
        end = begin + take.exposure * FPS
        n = np.concatenate([np.arange(self.count), self.mirrored]).astype(int)
        b, e = begin[: len(n)], end[: len(n)]
        i, j = np.floor(b).astype(int), np.floor(e).astype(int)
        share = np.where(i == j, 1.0, (j - b) / (e - b))[:, None]
        dark = np.zeros((1, light.shape[1], 3), np.float32)
        padded = np.concatenate([dark, light, dark])
        clip = lambda k: np.clip(k + 1, 0, len(padded) - 1)  # noqa: E731
        own = share * padded[clip(i), n] + (1 - share) * padded[clip(j), n]
        lamps = self.troubles.levels(own[: self.count], time)
        own = np.concatenate([lamps, own[self.count :]])
        if not self.neighbours:
            return own
        rate, phase = self.beat
        on = (np.sin(2 * np.pi * (rate * time + phase)) > 0).astype(float)
        return np.concatenate([own, on[:, None] * (0.5, 0.2, 0.1)])

    def _lit(self, own, k):
        """(H, W) the scene with spots at levels (S,), in one channel or, as 3, in all as one.

        The last one is kept: a picture lasts several frames.
        """
        last = self._last.get(k)
        if last is not None and np.array_equal(last[0], own):
            return last[1]
        take = self.take
        spots = np.float32(self.splat @ own).reshape(take.height, take.width)
        small = cv2.resize(spots, None, fx=1 / 8, fy=1 / 8, interpolation=cv2.INTER_AREA)
        small = cv2.GaussianBlur(small, (0, 0), 4) * (4.0 * take.wash * 8)
        image = cv2.addWeighted(self.layers[k], 1.0, spots, 4.0, 0)
        cv2.add(image, cv2.resize(small, (take.width, take.height)), image)
        if take.glow:
            cv2.add(image, self.shining.of(own[: self.count], k if k < 3 else None), image)
        self._last[k] = own, image
        return image

    def frame(self, light, number, time):
        """One frame, taken at a time (s), as yuv420p bytes; ``number`` chooses its noise."""
        take, troubles = self.take, self.troubles
        levels = self.levels(light, time)
        colour = take.colour or bool(np.ptp(levels[: self.count], axis=1).max() > 1e-6)
        codes = []
        dx, dy, roll = self.wander(time)
        gain = float(1 + take.drift * np.sin(2 * np.pi * (0.03 * time + 0.3)))
        move = np.array(
            [
                [1, -roll, dx + roll * take.height / 2],
                [roll, 1, dy - roll * take.width / 2],
                [0, 0, 1],
            ]
        )
        move = (move @ troubles.move(time))[:2]
        for k in range(3 if colour else 1):
            own = levels[:, k] if colour else levels.mean(1)
            layer = k if colour else 3
            image = cv2.warpAffine(
                troubles.shown(self._lit(own.astype(np.float32), layer), self.layers[layer], time),
                move,
                (take.width, take.height),
                borderMode=cv2.BORDER_REPLICATE,
            )
            cv2.multiply(image, gain * troubles.tint(k, time), image)
            if troubles.has("hdr"):
                image = hlg(image)
            elif take.glow:  # the light is measured: sRGB as it is (IEC 61966-2-1)
                image = np.clip(image, 0, 1)
                curve = 1.055 * cv2.pow(image, 1 / 2.4) - 0.055
                image = np.where(image < 0.0031308, 12.92 * image, curve).astype(np.float32)
            else:  # a gamma of 2 is near enough, and quicker
                image = cv2.sqrt(image)
            cv2.multiply(image, 255.0, image)
            codes.append(
                cv2.add(image, self.grain[(number + 3 * k) % len(self.grain)], dtype=cv2.CV_8U)
            )
        if colour:
            return cv2.cvtColor(np.stack(codes, -1), cv2.COLOR_RGB2YUV_I420).tobytes()
        luma = cv2.convertScaleAbs(codes[0], alpha=219 / 255, beta=16)
        return luma.tobytes() + b"\x80" * (take.width * take.height // 2)


def film(path: Path, made: Scene, light) -> None:
    """Write the film of light (T, N, 3) on a scene's lamps, in H.264 at a phone's rates."""
    take = made.take
    seconds = take.before + len(light) / FPS + take.after
    taken, told = made.troubles.times(seconds)
    made.troubles.film(
        path, told, (made.frame(light, number, time) for number, time in enumerate(taken))
    )
