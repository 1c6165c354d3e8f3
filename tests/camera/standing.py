"""How a film or a photograph is taken, and from where: cameras of OpenCV's with a phone's lens."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np

from lumenmap.pictures.scene.camera import Camera, framed


@dataclass
class Take:
    """How a film is taken; all from a seed."""

    seed: int = 1
    width: int = 1280
    height: int = 720
    fps: float = 29.97
    shake: float = 15.0
    crf: int = 26
    hidden: float = 0.30
    drift: float = 0.15
    noise: float = 2.5
    rolling: float = 1 / 60
    exposure: float = 1 / 60
    neighbour: bool = True
    reflections: int = 6
    before: float = 1.7
    after: float = 0.6
    off_by: float = 0.02
    #: How the rails hang, if not by ``seed``: films of one house see the same rails.
    hung: int | None = None
    bearing: float | None = None
    background: float = 0.35
    wash: float = 0.05
    #: How strongly lamps light the house, and whether every frame has its colours: slower.
    glow: float = 0.0
    colour: bool = False
    #: What else happens in the film: names of `tests.camera.street.troubles`.
    troubles: tuple[str, ...] = ()
    rng: np.random.Generator = field(init=False)

    def __post_init__(self):
        self.rng = np.random.default_rng(self.seed)


@dataclass
class Standing:
    """OpenCV's camera: rotation (3, 3), position (3,), matrix, distortion."""

    turn: np.ndarray
    position: np.ndarray
    matrix: np.ndarray
    distortion: np.ndarray

    def project(self, points):
        """Where OpenCV sees points (K, 3): (K, 2), with pixel (0, 0) covering 0..1."""
        vector = cv2.Rodrigues(self.turn)[0]
        at, _ = cv2.projectPoints(
            np.asarray(points, float),
            vector,
            -self.turn @ self.position,
            self.matrix,
            self.distortion,
        )
        return at.reshape(-1, 2)


def stand(site, take):
    """A camera in the street that holds the house, tilted, a little rolled, with a phone's lens."""
    rng = take.rng
    bearing = rng.uniform(-0.5, 0.5) if take.bearing is None else take.bearing
    points = site.pixels.xyz
    near = framed(points, take.width, take.height, bearing=bearing, eye=rng.uniform(1.4, 1.9))
    lens = rng.uniform(24, 28) / 36 * take.width
    middle = (points.min(0) + points.max(0)) / 2
    way = near.position - middle
    way[2] = 0
    turned = np.abs(np.array([near.turn[0] @ (p - middle) for p in points])).max()
    distance = max(turned * lens / (0.44 * take.width), 6.0)
    distance += float(np.abs((points - middle) @ (way / np.linalg.norm(way))).max())
    position = middle + way / np.linalg.norm(way) * distance
    position[2] = near.position[2]
    aim = middle + rng.normal(0, 0.02 * distance, 3)
    forward = aim - position
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0, 0, 1])
    right /= np.linalg.norm(right)
    roll = rng.normal(0, 0.015)
    down = np.cross(forward, right)
    right, down = (
        right * np.cos(roll) + down * np.sin(roll),
        down * np.cos(roll) - right * np.sin(roll),
    )
    matrix = np.array([[lens, 0, take.width / 2], [0, lens, take.height / 2], [0, 0, 1.0]])
    distortion = np.array([rng.uniform(-0.04, 0.02), rng.uniform(-0.01, 0.01), 0, 0])
    return Standing(np.stack([right, down, forward]), position, matrix, distortion)


def unbent(take, at):
    """A padded camera without distortion, and where it sees the film's pixels: x, y (H, W)."""
    w, h, pad = take.width, take.height, 80
    f = float(at.matrix[0, 0])
    size = (w + 2 * pad, h + 2 * pad)
    camera = Camera(at.position, at.turn, f, (size[0] / 2, size[1] / 2), *size)
    x, y = np.meshgrid(np.arange(w) + 0.5, np.arange(h) + 0.5)
    flat = cv2.undistortPoints(
        np.stack([x.ravel(), y.ravel()], -1)[:, None], at.matrix, at.distortion
    )[:, 0]
    moved = (flat * f + np.array(size) / 2 - 0.5).reshape(h, w, 2).astype(np.float32)
    return camera, np.ascontiguousarray(moved[..., 0]), np.ascontiguousarray(moved[..., 1])
