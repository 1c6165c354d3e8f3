"""`Camera`: a level camera with a shifted lens, so that vertical lines stay vertical.

Strategy: as buildings are photographed. The film stays vertical; the lens is shifted up or down to
frame the house. In the pinhole model (Hartley and Zisserman, *Multiple View Geometry*, ch. 6) the
shift is the principal point, so that ``u = cx + f X / Z``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]

#: Nothing closer to the lens than this is drawn (m).
NEAR = 0.05
#: The middle of a low house in the picture, from the top, as a part of the height.
MIDDLE = 0.58


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """A pinhole camera.

    Attributes
    ----------
    position
        (3,) m.
    turn
        (3, 3) rotation; rows: right, down and forward of the picture in house axes.
    focal
        Focal length in pixels of the picture.
    centre
        Principal point (cx, cy) in pixels; pixel (0, 0) covers 0..1.
    width, height
        Size of the picture in pixels.
    """

    position: F
    turn: F
    focal: float
    centre: tuple[float, float]
    width: int
    height: int

    def project(self, points: F) -> tuple[F, F]:
        """Return (…, 2) positions in the picture and (…,) depths (m) of (…, 3) points.

        A point that isn't in front of the lens has a depth ≤ 0 and a meaningless position.
        """
        seen = (points - self.position) @ self.turn.T
        depth = seen[..., 2]
        scale = self.focal / np.where(depth > NEAR, depth, NEAR)
        return seen[..., :2] * scale[..., None] + self.centre, depth

    def rays(self, positions: F) -> F:
        """Return (…, 3) directions, 1 m deep, through (…, 2) positions in the picture."""
        flat = (positions - self.centre) / self.focal
        rays: F = flat @ self.turn[:2] + self.turn[2]
        return rays


def measure_of(width: int, height: int) -> float:
    """Return the height (pixels) of a 16:9 picture that fits in: the measure of lamps and glare."""
    return min(height, width * 9 / 16)


def level(bearing: float) -> F:
    """Return the rotation of a level camera; ``bearing`` (rad) is clockwise from +y."""
    s, c = math.sin(bearing), math.cos(bearing)
    return np.array([[c, -s, 0.0], [0.0, 0.0, -1.0], [s, c, 0.0]])


def framed(
    points: F, width: int, height: int, *, bearing: float = -0.33, eye: float = 1.7
) -> Camera:
    """Place a level camera at eye height in the street so that ``points`` fill the picture.

    Parameters
    ----------
    points
        (K, 3) m, the subject.
    bearing
        Direction of view (rad, clockwise from +y); negative: from the right.
    eye
        Height of the lens (m).
    """
    room_x, room_y = 0.90 * width, 0.70 * height
    turn = level(bearing)
    middle = (points.min(0) + points.max(0)) / 2
    size = float(np.linalg.norm(points.max(0) - points.min(0))) or 1.0
    # 35 mm on full frame (36 mm wide): about how one remembers a house from the street. Upright, as
    # wide as a telephone held that way, so that one stands as near.
    focal = 35 / 36 * max(width, 0.75 * height)

    def at(distance: float) -> Camera:
        position = middle - distance * turn[2]
        position[2] = eye
        return Camera(position, turn, focal, (0.0, 0.0), width, height)

    near, far = 0.6 * size, 40 * size
    for _ in range(50):
        distance = (near + far) / 2
        positions, depth = at(distance).project(points)
        extent = [np.ptp(each) for each in positions.T]  # ten times as quick as along axis 0
        fits = depth.min() > 1.5 and extent[0] <= room_x and extent[1] <= room_y
        near, far = (near, distance) if fits else (distance, far)
    camera = at(far)
    positions, _ = camera.project(points)
    low, high = positions.min(0), positions.max(0)
    # A tall house stands near the lower edge; a low one gets more of its garden, which the lamps
    # light, than of the sky.
    foot = min(0.87 * height, MIDDLE * height + float(high[1] - low[1]) / 2)
    centre = (width / 2 - float(low[0] + high[0]) / 2, foot - float(high[1]))
    return Camera(camera.position, turn, focal, centre, width, height)
