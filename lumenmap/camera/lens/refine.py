"""`refine`: the camera near another that fits points and their places best.

Place, turn, focal length and distortion are found together, under a loss that wrong points can't
pull. What is known beforehand joins in as weak residuals: a lens's usual focal length and
distortion, that cameras are held nearly level, and about as high as a person's eyes.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.lens.found import Found, Search
from lumenmap.camera.lens.shot import FULL_FRAME, Shot, bending, bent

F = NDArray[np.float64]

#: What is usual: a phone's main lens and how far others are from it, as a factor [C].
USUAL_LENS, OTHER_LENSES = 27.0, 1.6
#: How far off a focal length may be that a photograph's file gives [C].
GIVEN_LENS = 1.04
#: How much of distortion phones leave in pictures: k1, k2 [C].
DISTORTION = (0.06, 0.02)
#: How level a camera is held (rad), and how high (m), with how far others are from it [C].
ROLL = math.radians(4)
EYE, OTHER_EYES = 1.6, 1.2


def rough(shot: Shot, points: F, places: F, noise: float) -> float:
    """Return the robust cost per point of a camera; ``noise`` (px) is that of right points."""
    at, depth = shot.project(points)
    square = ((at - places) ** 2).sum(1) / (4 * noise) ** 2
    return float(np.where(depth > 0, np.log1p(square), 20.0).mean())


def refine(start: Shot, points: F, places: F, search: Search) -> Found:
    """Return the camera near ``start`` that fits best, with focal length and distortion."""
    from scipy.optimize import least_squares

    fixed = _Unknowns(start, points, places, search)
    scale = 1.5
    sharp = least_squares(
        fixed.residuals,
        fixed.start,
        fixed.slopes,
        loss=_robust(scale, len(points)),
        x_scale="jac",
    )
    shot = fixed.shot(sharp.x)
    at, depth = shot.project(points)
    offsets = places - at
    size = np.linalg.norm(offsets, axis=1)
    # The median of Rayleigh's distribution is 1.18 of its standard deviation in each coordinate.
    usual = max(search.noise, float(np.median(size)) / 1.18)
    right = (size < 4.0 * usual) & (depth > 0)
    return Found(shot, offsets, right, rough(shot, points, places, search.noise))


def _robust(scale: float, count: int) -> Any:
    """Return Cauchy's loss for the points' residuals; those of what is usual are squared."""

    def loss(square: F) -> F:
        out = np.stack([square, np.ones_like(square), np.zeros_like(square)])
        s = square[: 2 * count] / scale**2
        # Both coordinates of a point count as one distance.
        both = np.repeat(s.reshape(-1, 2).sum(1), 2)
        out[0, : 2 * count] = scale**2 * np.log1p(both) / 2
        out[1, : 2 * count] = 1 / (1 + both)
        return out

    return loss


def slopes(shot: Shot, points: F, lens: float | None = None) -> tuple[F, F]:
    """Return how places move with the camera: (2 K, 9) pixels, and (5, 9) what is usual of it.

    By rotation, position, log of the focal length, k1 and k2; the second are residuals in standard
    deviations. ``lens`` is the focal length in mm on full frame if the photograph says it.
    """
    start = _Unknowns(shot, points, shot.project(points)[0], Search(shot.size, lens, noise=1.0))
    start.start[7:] = shot.radial
    found = start.slopes(start.start)
    return found[: 2 * len(points)], found[2 * len(points) :]


class _Unknowns:
    """Rotation vector, position, log of the focal length, k1 and k2, as one vector."""

    def __init__(self, start: Shot, points: F, places: F, search: Search) -> None:
        self.base, self.points, self.places, self.search = start, points, places, search
        self.start = np.zeros(9 if search.distortion else 7)
        self.start[3:6] = start.position
        self.start[6] = math.log(start.focal)
        usual, spread = (
            (USUAL_LENS, OTHER_LENSES) if search.lens is None else (search.lens, GIVEN_LENS)
        )
        self._lens = math.log(usual * max(search.size) / FULL_FRAME), math.log(spread)

    def shot(self, x: F) -> Shot:
        turn = rotation(x[:3]) @ self.base.turn
        radial = (float(x[7]), float(x[8])) if len(x) > 7 else (0.0, 0.0)
        focal = math.exp(float(np.clip(x[6], 2.0, 14.0)))
        return Shot(x[3:6].copy(), turn, focal, self.base.centre, self.base.size, radial)

    def residuals(self, x: F) -> F:
        shot = self.shot(x)
        seen = (self.points - shot.position) @ shot.turn.T
        flat = seen[:, :2] / np.maximum(seen[:, 2:], 0.1)
        at = shot.focal * bent(flat, shot.radial) + np.asarray(shot.centre)
        off = ((at - self.places) / self.search.noise).ravel()
        usual = [
            (math.log(shot.focal) - self._lens[0]) / self._lens[1],
            float(shot.turn[0, 2]) / ROLL,
            (float(shot.position[2]) - EYE) / OTHER_EYES,
        ]
        if len(x) > 7:
            usual += [shot.radial[0] / DISTORTION[0], shot.radial[1] / DISTORTION[1]]
        return np.concatenate([off, usual])

    def slopes(self, x: F) -> F:
        """Return the derivatives (R, 9) of the residuals.

        Beyond the radius at which the lens's curve goes on straight, as if that radius stayed.
        """
        shot = self.shot(x)
        seen = (self.points - shot.position) @ shot.turn.T
        deep = np.maximum(seen[:, 2:], 0.1)
        flat = seen[:, :2] / deep
        moves = np.empty((len(seen), 3, 6))  # of the points, as the camera has them
        turning = _turning(x[:3])
        moves[:, :, :3] = -_crossing(seen) @ turning
        moves[:, :, 3:] = -shot.turn
        by = moves[:, :2] / deep[..., None]
        ahead = seen[:, 2] > 0.1
        by[ahead] -= (flat[..., None] * moves[:, 2:] / deep[..., None])[ahead]
        out = np.zeros((2 * len(seen) + 3 + len(x) - 7, len(x)))
        parts = out[: 2 * len(seen)].reshape(-1, 2, len(x))
        by_flat, by_radial = bending(flat, shot.radial)
        parts[..., :6] = by_flat @ by
        parts[..., 6] = bent(flat, shot.radial)
        if len(x) > 7:
            parts[..., 7:] = by_radial
            out[-2, 7], out[-1, 8] = 1 / DISTORTION[0], 1 / DISTORTION[1]
        parts *= shot.focal / self.search.noise
        usual = out[2 * len(seen) :]
        usual[0, 6] = 1 / self._lens[1]
        usual[1, :3] = (turning[1] * shot.turn[2, 2] - turning[2] * shot.turn[1, 2]) / ROLL
        usual[2, 5] = 1 / OTHER_EYES
        return out


def _crossing(vectors: F) -> F:
    """Return the matrices (…, 3, 3) that take another vector to the cross product with (…, 3)."""
    out = np.zeros((*vectors.shape, 3))
    x, y, z = vectors[..., 0], vectors[..., 1], vectors[..., 2]
    out[..., 0, 1], out[..., 0, 2], out[..., 1, 2] = -z, y, -x
    out[..., 1, 0], out[..., 2, 0], out[..., 2, 1] = z, -y, x
    return out


def _turning(vector: F) -> F:
    """Return (3, 3) how the rotation by a vector turns further as the vector changes.

    The left Jacobian of rotations (Sola, Deray and Atchuthan, "A micro Lie theory for state
    estimation in robotics", 2018, equation 145 [M]).
    """
    size = float(np.linalg.norm(vector))
    cross = _crossing(vector)
    if size < 1e-4:
        return np.asarray(np.eye(3) + cross / 2)
    a = (1 - math.cos(size)) / size**2
    b = (size - math.sin(size)) / size**3
    return np.asarray(np.eye(3) + a * cross + b * cross @ cross)


def rotation(vector: F) -> F:
    """Return the rotation (3, 3) by a vector's length (rad) round its direction (Rodrigues)."""
    size = float(np.linalg.norm(vector))
    if size < 1e-12:
        return np.eye(3)
    cross = _crossing(vector / size)
    return np.asarray(np.eye(3) + math.sin(size) * cross + (1 - math.cos(size)) * cross @ cross)
