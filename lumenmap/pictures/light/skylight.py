"""`sky_part`: how much of the sky's light gets to a point of the house; under eaves it is less.

Strategy: lines to places spread evenly over the sky; what isn't behind a wall, a roof or a board
lights a face by the cosine of its angle. It changes slowly, so a coarse grid of the picture's
pixels is asked, and the rest lies between.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.cast import Cast
from lumenmap.pictures.scene.fragments import Fragments
from lumenmap.pictures.scene.surface import Surface, area_of, seen_side

F = NDArray[np.float64]
F32 = NDArray[np.float32]
Ints = NDArray[np.int64]

#: Places in the sky: rings of equal area, and so many in each.
RINGS, AROUND = 5, 12
#: The grid's step, as a part of the picture's width.
STEP = 1 / 100
#: Narrower faces (m) are taken to be free: frames, sills, the rims of panels, boards.
NARROW = 0.3
#: Places of a face that the grid misses, and the weight of a face's mean against the grid's.
FEW, FAR = 9, 1e-3
#: Points worked on at once: bounds the memory.
AT_ONCE = 1 << 15


def sky_part(points: F | F32, normals: F, shades: Sequence[Surface]) -> F:
    """Return what part (K,) of an even sky's light gets to points (K, 3) m on faces.

    1 on open level ground, 1/2 on a free wall; ``normals`` (K, 3) are those of the sides that are
    seen, ``shades`` what stands in the way.
    """
    out = np.zeros(len(points))
    for first in range(0, len(points), AT_ONCE):
        some = slice(first, first + AT_ONCE)
        cast = Cast(points[some], normals[some], shades)
        for towards in _SKY:
            onto = np.maximum(normals[some] @ towards, 0)
            out[some] += cast.lit(towards) * onto * 2 / len(_SKY)
    return out


def free_part(normal: F) -> float:
    """Return the part of a face that nothing stands before."""
    return float(1 + normal[2]) / 2


def is_narrow(surface: Surface) -> bool:
    """Return whether a face is a strip: its area by its longest diagonal."""
    return area_of(surface) < NARROW * float(np.linalg.norm(np.ptp(surface.corners, axis=0)))


def skylight(surfaces: Sequence[Surface], seen: Fragments, shades: Sequence[Surface]) -> F32:
    """Return the part of the sky's light (F,) that gets to each fragment of a picture.

    0 for the sky's own.
    """
    camera = seen.camera
    out = np.zeros(len(seen.pixel), np.float32)
    patches: list[tuple[slice, Patch]] = []
    for index, face in enumerate(surfaces):
        rows = slice(int(seen.starts[index + 1]), int(seen.starts[index + 2]))
        if rows.start == rows.stop:
            continue
        normal = seen_side(face, camera.position)
        out[rows] = free_part(normal)
        if not is_narrow(face):
            pixels = seen.pixel[rows]
            patches.append((rows, Patch(pixels, normal, partial(_points, seen, face, pixels))))
    parts = patch_parts([patch for _, patch in patches], camera.width, shades)
    for (rows, _), part in zip(patches, parts, strict=True):
        out[rows] = part
    return out


def _points(seen: Fragments, face: Surface, pixels: NDArray[np.int32], chosen: Ints) -> F:
    """Return where the middles of some of the pixels of a picture show a face, (C, 3) m."""
    y, x = np.divmod(pixels[chosen], seen.camera.width)
    return seen.points(face, seen.camera.rays(np.stack([x, y], -1) + 0.5))


class Patch(NamedTuple):
    """A face in a picture: its pixels (K,), row-major, the side that is seen (3,), and places.

    ``points`` gives (C, 3) m for some of the pixels, by their numbers (C,).
    """

    pixels: NDArray[np.int32]
    normal: F
    points: Callable[[Ints], F]


def patch_parts(patches: Sequence[Patch], width: int, shades: Sequence[Surface]) -> list[F]:
    """Return the part of the sky's light (K,) that gets to each patch of a picture so wide."""
    spreads = [Spread.over(patch.pixels, width) for patch in patches]
    each = list(zip(patches, spreads, strict=True))
    points = [patch.points(spread.chosen) for patch, spread in each]
    normals = [np.tile(patch.normal, (len(spread.chosen), 1)) for patch, spread in each]
    if not points:
        return []
    parts = sky_part(np.concatenate(points), np.concatenate(normals), shades)
    ends = np.cumsum([len(p) for p in points])[:-1]
    return [s.between(own) for s, own in zip(spreads, np.split(parts, ends), strict=True)]


class Spread(NamedTuple):
    """Some of a face's pixels, and all of them, in steps of the grid.

    ``chosen`` (C,) are numbers of pixels; ``y``, ``x`` (K,) say where all of them are.
    """

    chosen: Ints
    y: F
    x: F

    @classmethod
    def over(cls, pixels: NDArray[np.int32], width: int) -> Spread:
        """Choose some pixels (row-major) of a face in a picture of this width."""
        step = max(1, round(STEP * width))
        y, x = np.divmod(pixels, width)
        chosen = np.flatnonzero((y % step == step // 2) & (x % step == step // 2))
        if len(chosen) < FEW:
            chosen = np.unique(np.linspace(0, len(pixels) - 1, FEW).astype(int))
        return cls(chosen, (y - step // 2) / step, (x - step // 2) / step)

    def between(self, values: F) -> F:
        """Return the values of all pixels (K,), given those of the chosen ones (C,)."""
        top, left = int(self.y.min()) - 2, int(self.x.min()) - 2
        size = int(self.y.max()) - top + 4, int(self.x.max()) - left + 4
        at = np.round(self.y[self.chosen]) - top, np.round(self.x[self.chosen]) - left
        flat = (at[0] * size[1] + at[1]).astype(int)
        weight, level = (
            np.bincount(flat, each, size[0] * size[1]).reshape(size) for each in (None, values)
        )
        level = _blurred(level.astype(float)) + FAR * values.mean()
        level /= _blurred(weight.astype(float)) + FAR
        return _interpolated(level, self.y - top, self.x - left)


def _blurred(grid: F) -> F:
    """Return a grid blurred over its neighbours, twice."""
    for _ in range(2):
        wide = np.pad(grid, 1)
        rows = wide[:-2] + 2 * wide[1:-1] + wide[2:]
        grid = (rows[:, :-2] + 2 * rows[:, 1:-1] + rows[:, 2:]) / 16
    return grid


def _interpolated(grid: F, y: F, x: F) -> F:
    """Return the values between a grid's places (K,)."""
    i, j = np.floor(y).astype(int), np.floor(x).astype(int)
    down, across = y - i, x - j
    upper = grid[i, j] * (1 - across) + grid[i, j + 1] * across
    lower = grid[i + 1, j] * (1 - across) + grid[i + 1, j + 1] * across
    return np.asarray(upper * (1 - down) + lower * down)


def _sky() -> F:
    """Return directions (K, 3) in the middles of equal parts of the sky."""
    up = np.repeat((np.arange(RINGS) + 0.5) / RINGS, AROUND)
    turn = np.tile((np.arange(AROUND) + 0.5) / AROUND, RINGS)
    turn += up / AROUND  # rings aren't in line
    across = np.sqrt(1 - up**2)
    angle = 2 * np.pi * turn
    return np.stack([across * np.cos(angle), across * np.sin(angle), up], axis=1)


_SKY = _sky()
