"""`find_sun`: where the sun stood when a photograph was taken, by the shadows on the house.

Strategy: the model says where shadows would fall for a sun in any direction. On each face, pixels
in the sun are brighter than those in shade by one factor, which follows from the angle of the face;
so the direction is the one that explains most of what is bright and dark within faces. Then the
edges of its shadows must be there: under an overcast sky eaves darken walls gradually.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.stage.faces import Faces, in_sun, opaque
from lumenmap.pictures.scene.cast import Cast

F = NDArray[np.float64]
F32 = NDArray[np.float32]
B = NDArray[np.bool_]
Ints = NDArray[np.intp]

#: Elevations and the step of the bearings (degrees) that are tried first; then steps around the
#: best.
HEIGHTS, BEARINGS, CLOSER = (8.0, 16.0, 25.0, 35.0, 46.0, 58.0), 12.0, (6.0, 3.0, 1.5, 0.75)
#: Steps begin from so many of them, this far apart (degrees).
FROM, APART = 2, 20
#: How many times the sky's light a sun may give, on a face square to it.
STRONGER = (1.0, 2.0, 4.0, 8.0, 16.0)
AROUND = (0.75, 0.9, 1.0, 1.1, 1.33)
#: A pixel that is off by more than this factor (log) is something else: a plant, a lamp.
ELSE = 0.6
#: Across the edge of a shadow the light changes by so much at least (log), and by at least this
#: part of what it should, along at least this part of all edges.
STEP, PART, ALONG = 0.3, 0.5, 0.45
#: A sun gives a face square to it this many times the sky's light at least. A thin haze leaves 2 or
#: more (common practice, no source); an overcast sky looks like a sun of 1.2 to 1.5 under eaves.
LEAST = 2.0
#: How far (part of the width) from the model's edges light is compared, and over which length.
BESIDE, OVER = (0.004, 0.011), 0.012
#: Faces that are looked at, with at least so many pixels; and at most so many of each are, at first
#: and around the best.
LOOKED_AT, FEWEST, ROUGHLY, CLOSELY = ("wall", "door", "roof"), 60, 120, 300


@dataclass(frozen=True, slots=True, eq=False)
class Sun:
    """``towards`` (3,) unit vector; ``ratio``: its light on a face square to it, over the sky's."""

    towards: F
    ratio: float


def find_sun(bright: F32, faces: Faces) -> Sun | None:
    """Return the sun of a photograph, or None if its shadows aren't to be seen.

    Parameters
    ----------
    bright
        (H, W) luminance, linear.
    faces
        What is seen in it.
    """
    rough, close = (_Looked.at(bright, faces, most) for most in (ROUGHLY, CLOSELY))
    if not rough.ranges:
        return None
    found = []
    for begun in _promising(rough):
        error, sun = _closer(close, *begun)
        if sun.ratio > LEAST and _edges(bright, faces, sun) > ALONG:
            found.append((error, sun))
    return min(found, key=lambda each: each[0])[1] if found else None


def _promising(seen: _Looked) -> list[tuple[float, float, float]]:
    """Return heights, bearings and ratios that explain something, best first, apart from others."""
    tried = []
    for height in HEIGHTS:
        for bearing in np.arange(0, 360, BEARINGS).tolist():
            error, ratio = seen.error(_way(height, bearing), STRONGER)
            tried.append((error, (height, bearing, ratio)))
    chosen: list[tuple[float, float, float]] = []
    for error, at in sorted(tried):
        ways = [_way(*other[:2]) @ _way(*at[:2]) for other in chosen]
        if error < seen.flat and max(ways, default=-1.0) < np.cos(np.radians(APART)):
            chosen.append(at)
    return chosen[:FROM]


def _closer(seen: _Looked, height: float, bearing: float, ratio: float) -> tuple[float, Sun]:
    """Return the best sun around a direction, and its error."""
    at = height, bearing
    best = seen.error(_way(*at), [ratio])
    for step in CLOSER:
        for aside in list(_around(at, step)):
            found = seen.error(_way(*aside), [best[1] * f for f in AROUND])
            if found[0] < best[0]:
                best, at = found, aside
    return best[0], Sun(_way(*at), best[1])


def _around(at: tuple[float, float], step: float) -> Iterator[tuple[float, float]]:
    for up in (-1, 0, 1):
        for aside in (-1, 0, 1):
            yield min(max(at[0] + up * step, 3.0), 85.0), at[1] + aside * step


def _way(height: float, bearing: float) -> F:
    h, b = np.radians((height, bearing))
    return np.array([np.cos(h) * np.sin(b), np.cos(h) * np.cos(b), np.sin(h)])


@dataclass(frozen=True, slots=True, eq=False)
class _Looked:
    """K pixels: log luminance, faces as ranges of them, how many each stands for, shadows."""

    level: F
    ranges: list[slice]
    normals: F
    weights: list[float]
    cast: Cast

    @classmethod
    def at(cls, bright: F32, faces: Faces, most: int) -> _Looked:
        rng = np.random.default_rng(1)
        chosen: list[Ints] = []
        normals: list[F] = []
        weights: list[float] = []
        which = np.where(faces.of(*LOOKED_AT), faces.which, -1).ravel()
        for index in np.unique(which[which >= 0]):
            rows = np.flatnonzero(which == index)
            if len(rows) >= FEWEST:
                chosen.append(rng.permutation(rows)[:most])
                normals.append(faces.normals[index])
                weights.append(len(rows) / len(chosen[-1]))
        counts = [len(c) for c in chosen]
        ends = np.cumsum(counts, dtype=int).tolist()
        ranges = [slice(e - n, e) for e, n in zip(ends, counts, strict=True)]
        rows = np.concatenate([*chosen, np.zeros(0, np.intp)])
        level = np.log(np.maximum(bright.ravel()[rows], 1e-4)).astype(np.float64)
        ways = np.array(normals).reshape(-1, 3)
        points = faces.points.reshape(-1, 3)[rows]
        cast = Cast(points, np.repeat(ways, counts, axis=0), opaque(faces.surfaces))
        return cls(level, ranges, ways, weights, cast)

    @property
    def flat(self) -> float:
        """The error without a sun."""
        each = zip(self.ranges, self.weights, strict=True)
        return sum(weight * _error(self.level[rows]) for rows, weight in each)

    def error(self, towards: F, ratios: Sequence[float]) -> tuple[float, float]:
        """Return the least error of some ratios for a direction of the sun, and that ratio."""
        lit = self.cast.lit(towards)
        total = np.zeros(len(ratios))
        each = zip(self.ranges, self.weights, self.normals @ towards, strict=True)
        for rows, weight, cosine in each:
            level, shone = self.level[rows], lit[rows]
            if not shone.any() or shone.all():
                total += weight * _error(level)
                continue
            for n, ratio in enumerate(ratios):
                total[n] += weight * _error(level - np.log1p(ratio * cosine) * shone)
        best = int(np.argmin(total))
        return float(total[best]), ratios[best]


def _edges(bright: F32, faces: Faces, sun: Sun) -> float:
    """Return along which part of its shadows' edges the light changes as a sun has it, 0..1."""
    looked = faces.of(*LOOKED_AT)
    lit = np.zeros(looked.shape, bool)
    lit[looked] = in_sun(sun.towards, faces, looked)
    level = np.log(np.maximum(bright, 1e-4))
    there, length = 0, 0
    for index in np.unique(faces.which[looked]):
        where = faces.which == index
        usual = float(np.log1p(sun.ratio * max(float(faces.normals[index] @ sun.towards), 0.0)))
        if usual < STEP or lit[where].all() or not lit[where].any():
            continue
        step = steps(level[..., None], where & lit, where & ~lit).by[:, 0]
        there += int((step > max(STEP, PART * usual)).sum())
        length += len(step)
    return there / length if length else 0.0


class Steps(NamedTuple):
    """``by`` (E, C): how much (log) brighter one side of an edge is; ``at`` (H, W): E places."""

    by: F32
    at: B


def steps(level: F32, lit: B, dark: B) -> Steps:
    """Return by how much it is brighter on the lit side of the edge between two masks.

    Parameters
    ----------
    level
        (H, W, C) log light.
    lit, dark
        (H, W) two sides of an edge.
    """
    from scipy.ndimage import distance_transform_edt, gaussian_filter

    rows, columns = (np.flatnonzero((lit | dark).any(axis)) for axis in (1, 0))
    box = (slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1))
    at = np.zeros(lit.shape, bool)
    lit, dark, level, wide = lit[box], dark[box], level[box], level.shape[1]
    means, known = [], lit & (distance_transform_edt(~dark) < 1.5)
    for side, other in ((lit, dark), (dark, lit)):
        far = distance_transform_edt(~other)
        strip = (side & (far > BESIDE[0] * wide) & (far < BESIDE[1] * wide)).astype(np.float32)
        weight = gaussian_filter(strip, OVER * wide)
        sigma = (OVER * wide, OVER * wide, 0)
        mean = gaussian_filter(level * strip[..., None], sigma)
        means.append(mean / np.maximum(weight, 1e-6)[..., None])
        known &= weight > 0.01
    at[box] = known
    return Steps(np.asarray((means[0] - means[1])[known]), at)


def _error(level: F) -> float:
    off = level - np.median(level)
    return float(np.minimum(off**2, ELSE**2).sum())
