"""`Shot`: the camera of one photograph: where it stood, how it was turned, and what its lens does.

A pinhole camera whose image is stretched along the radius: ``r' = r (1 + k1 r² + k2 r⁴)``, the
radial part of the model of Brown, "Close-range camera calibration", 1971 [P]. Pictures are drawn
flat: `Shot.flat` is the same camera without distortion, and `Shot.flatten` moves a photograph's
pixels to where it sees them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.camera import NEAR, Camera

F = NDArray[np.float64]

#: Steps of Newton's method that undo the distortion: it converges quadratically.
STEPS = 8
#: A film or a photograph, as wide as film (mm): "on full frame".
FULL_FRAME = 36.0


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """The camera of one photograph.

    Attributes
    ----------
    position
        (3,) m, in house axes.
    turn
        (3, 3) rotation; rows: right, down and forward of the photograph in house axes.
    focal
        Focal length in pixels of the photograph.
    centre
        Where the lens's axis meets the photograph, in pixels; pixel (0, 0) covers 0..1.
    size
        Width and height of the photograph in pixels.
    radial
        k1, k2 of the distortion; negative k1 is a barrel.
    """

    position: F
    turn: F
    focal: float
    centre: tuple[float, float]
    size: tuple[int, int]
    radial: tuple[float, float] = (0.0, 0.0)

    def project(self, points: F) -> tuple[F, F]:
        """Return (…, 2) positions in the photograph and (…,) depths (m) of (…, 3) points.

        A point that isn't in front of the lens has a depth ≤ 0 and a meaningless position.
        """
        seen = (points - self.position) @ self.turn.T
        depth = seen[..., 2]
        flat = seen[..., :2] / np.where(depth > NEAR, depth, NEAR)[..., None]
        return self.focal * bent(flat, self.radial) + self.centre, depth

    def rays(self, places: F) -> F:
        """Return (…, 3) directions in house axes, 1 m deep, through (…, 2) positions."""
        flat = straight((places - np.asarray(self.centre)) / self.focal, self.radial)
        rays: F = flat @ self.turn[:2] + self.turn[2]
        return rays

    @property
    def lens(self) -> float:
        """Its focal length in mm on full frame, by the longer side of the photograph."""
        return FULL_FRAME * self.focal / max(self.size)

    def flat(self, width: int | None = None) -> Camera:
        """Return this camera without distortion, for a picture of a width in pixels."""
        scale = 1.0 if width is None else width / self.size[0]
        return Camera(
            self.position,
            self.turn,
            self.focal * scale,
            (self.centre[0] * scale, self.centre[1] * scale),
            round(self.size[0] * scale),
            round(self.size[1] * scale),
        )

    def flatten(self, photo: NDArray[np.float32], width: int | None = None) -> NDArray[np.float32]:
        """Return the photograph (H, W, …) as `flat` sees it, interpolated linearly.

        What lies beyond the photograph's edge repeats the edge.
        """
        from scipy.ndimage import gaussian_filter, map_coordinates

        camera = self.flat(width)
        x, y = np.meshgrid(np.arange(camera.width) + 0.5, np.arange(camera.height) + 0.5)
        at = (np.stack([x, y], -1) - camera.centre) / camera.focal
        at = self.focal * bent(at, self.radial) + np.asarray(self.centre) - 0.5
        layers = photo.reshape(*photo.shape[:2], -1)
        blur = max(0.0, self.size[0] / camera.width / 2 - 0.5)  # no aliasing where it shrinks
        made = [
            map_coordinates(
                gaussian_filter(layers[..., k], blur) if blur else layers[..., k],
                (at[..., 1], at[..., 0]),
                order=1,
                mode="nearest",
            )
            for k in range(layers.shape[2])
        ]
        out: NDArray[np.float32] = np.stack(made, -1).astype(np.float32)
        return out.reshape(camera.height, camera.width, *photo.shape[2:])


def bent(flat: F, radial: tuple[float, float]) -> F:
    """Return (…, 2) points of the plane at depth 1 as the lens shows them.

    Beyond the radius at which a barrel would fold back on itself, the curve goes on straight.
    """
    k1, k2 = radial
    if not (k1 or k2):
        return flat
    square = np.minimum((flat**2).sum(-1, keepdims=True), _fold(k1, k2))
    return np.asarray(flat * (1 + square * (k1 + square * k2)))


def bending(flat: F, radial: tuple[float, float]) -> tuple[F, F]:
    """Return the derivatives of `bent` by ``flat`` (K, 2) and by k1 and k2: (K, 2, 2) each."""
    k1, k2 = radial
    square = (flat**2).sum(-1)[:, None, None]
    most = _fold(k1, k2)
    s = np.minimum(square, most)
    growth = np.where(square < most, 2 * (k1 + 2 * s * k2), 0.0)
    column = flat[:, :, None]
    by_flat = (1 + s * (k1 + s * k2)) * np.eye(2) + growth * column * flat[:, None]
    return by_flat, np.concatenate([column * s, column * s * s], axis=2)


def _fold(k1: float, k2: float) -> float:
    """Return the square of the radius at which the distorted radius stops growing, or infinity."""
    if not (k1 or k2):
        return math.inf
    # d/dr (r + k1 r³ + k2 r⁵) = 1 + 3 k1 s + 5 k2 s², with s = r².
    below = 9 * k1 * k1 - 20 * k2
    if below < 0:
        return math.inf
    # The root that doesn't cancel, and the other by their product.
    both = -(3 * k1 + math.copysign(math.sqrt(below), k1)) / 2
    roots = [1 / both, both / (5 * k2)] if k2 else [1 / both]
    return min((r for r in roots if r > 0), default=math.inf)


def straight(seen: F, radial: tuple[float, float]) -> F:
    """Return the (…, 2) points that `bent` takes to ``seen``, by Newton's method on the radius."""
    k1, k2 = radial
    if not (k1 or k2):
        return seen
    target = np.linalg.norm(seen, axis=-1, keepdims=True)
    most = math.sqrt(_fold(k1, k2))
    r = np.minimum(target, 0.99 * most)
    for _ in range(STEPS):
        s = r * r
        slope = np.maximum(1 + s * (3 * k1 + 5 * k2 * s), 0.05)
        r = np.clip(r - (r * (1 + s * (k1 + k2 * s)) - target) / slope, 0, most)
    return np.asarray(seen * (r / np.maximum(target, 1e-12)))
