"""`find_sun`: where the sun stood when a photograph was taken, by the shadows on the house.

Strategy: the model says where shadows would fall for a sun in any direction. On each face, pixels
in the sun are brighter than those in shade by one factor, which follows from the angle of the face;
so the direction is the one that explains most of what is bright and dark within faces. Then the
edges of its shadows must be there: under an overcast sky eaves darken walls gradually.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.stage.faces import FAR, Faces, in_sun
from lumenmap.pictures.scene.shadow import hides
from lumenmap.pictures.scene.surface import Surface

F = NDArray[np.float64]
F32 = NDArray[np.float32]
B = NDArray[np.bool_]
Ints = NDArray[np.intp]

#: Elevations and the step of the bearings (degrees) that are tried first; then steps around the
#: best.
HEIGHTS, BEARINGS, CLOSER = (8.0, 16.0, 25.0, 35.0, 46.0, 58.0), 12.0, (6.0, 3.0, 1.5, 0.75)
#: How many times the sky's light a sun may give, on a face square to it.
STRONGER = (1.0, 2.0, 4.0, 8.0, 16.0)
AROUND = (0.75, 0.9, 1.0, 1.1, 1.33)
#: A pixel that is off by more than this factor (log) is something else: a plant, a lamp.
ELSE = 0.6
#: Across the edge of a shadow the light changes by so much at least (log), and by at least this
#: part of what it should, along at least this part of all edges.
STEP, PART, ALONG = 0.3, 0.5, 0.6
#: A sun gives a face square to it this many times the sky's light at least. A thin haze leaves 2 or
#: more (common practice, no source); an overcast sky looks like a sun of 1.2 to 1.5 under eaves.
LEAST = 2.0
#: How far (part of the width) from the model's edges light is compared, and over which length.
BESIDE, OVER = (0.004, 0.011), 0.012
#: Faces that are looked at, with at least so many pixels; and at most so many of each are, at first
#: and around the best.
LOOKED_AT, FEWEST, ROUGHLY, CLOSELY = ("wall", "door", "roof"), 60, 150, 600


@dataclass(frozen=True, slots=True, eq=False)
class Sun:
    """``towards`` (3,) unit vector; ``ratio``: its light on a face square to it, over the sky's."""

    towards: F
    ratio: float


def find_sun(bright: F32, faces: Faces, shades: Sequence[Surface]) -> Sun | None:
    """Return the sun of a photograph, or None if its shadows aren't to be seen.

    Parameters
    ----------
    bright
        (H, W) luminance, linear.
    faces
        What is seen in it.
    shades
        What casts shadows.
    """
    seen = _Looked.at(bright, faces, shades, ROUGHLY)
    if not seen.ranges:
        return None
    best, at = (seen.flat, 0.0), (0.0, 0.0)
    for height in HEIGHTS:
        for bearing in np.arange(0, 360, BEARINGS).tolist():
            found = seen.error(_way(height, bearing), STRONGER)
            if found[0] < best[0]:
                best, at = found, (height, bearing)
    seen = _Looked.at(bright, faces, shades, CLOSELY)
    best = seen.error(_way(*at), [best[1]])
    for step in CLOSER:
        for height, bearing in _around(at, step):
            found = seen.error(_way(height, bearing), [best[1] * f for f in AROUND])
            if found[0] < best[0]:
                best, at = found, (height, bearing)
    sun = Sun(_way(*at), best[1])
    return sun if best[1] > LEAST and _edges(bright, faces, sun, shades) > ALONG else None


def _around(at: tuple[float, float], step: float) -> Iterator[tuple[float, float]]:
    for up in (-1, 0, 1):
        for aside in (-2, -1, 0, 1, 2):
            yield min(max(at[0] + up * step, 3.0), 85.0), at[1] + aside * step


def _way(height: float, bearing: float) -> F:
    h, b = np.radians((height, bearing))
    return np.array([np.cos(h) * np.sin(b), np.cos(h) * np.cos(b), np.sin(h)])


@dataclass(frozen=True, slots=True, eq=False)
class _Looked:
    """K pixels: log luminance, faces as ranges of them, and where they are."""

    level: F
    ranges: list[slice]
    normals: F
    starts: F
    shades: Sequence[Surface]

    @classmethod
    def at(cls, bright: F32, faces: Faces, shades: Sequence[Surface], most: int) -> _Looked:
        rng = np.random.default_rng(1)
        chosen: list[Ints] = []
        normals: list[F] = []
        which = np.where(faces.of(*LOOKED_AT), faces.which, -1).ravel()
        for index in np.unique(which[which >= 0]):
            rows = np.flatnonzero(which == index)
            if len(rows) >= FEWEST:
                chosen.append(rng.permutation(rows)[:most])
                normals.append(faces.normals[index])
        counts = [len(c) for c in chosen]
        ends = np.cumsum(counts, dtype=int).tolist()
        ranges = [slice(e - n, e) for e, n in zip(ends, counts, strict=True)]
        rows = np.concatenate([*chosen, np.zeros(0, np.intp)])
        level = np.log(np.maximum(bright.ravel()[rows], 1e-4)).astype(np.float64)
        ways = np.array(normals).reshape(-1, 3)
        starts = faces.points.reshape(-1, 3)[rows] + 0.02 * np.repeat(ways, counts, axis=0)
        return cls(level, ranges, ways, starts, shades)

    def lit(self, towards: F) -> B:
        """Return (K,) whether the sun shines there, by the model."""
        lit = np.zeros(len(self.level), bool)
        for rows, cosine in zip(self.ranges, self.normals @ towards, strict=True):
            lit[rows] = cosine > 0
        starts = self.starts[lit]
        lit[lit] = ~hides(starts, starts + FAR * towards, self.shades)
        return lit

    @property
    def flat(self) -> float:
        """The error without a sun."""
        return float(sum(_error(self.level[rows]) for rows in self.ranges))

    def error(self, towards: F, ratios: Sequence[float]) -> tuple[float, float]:
        """Return the least error of some ratios for a direction of the sun, and that ratio."""
        lit = self.lit(towards)
        total = np.zeros(len(ratios))
        for rows, cosine in zip(self.ranges, self.normals @ towards, strict=True):
            level, shone = self.level[rows], lit[rows]
            if not shone.any() or shone.all():
                total += _error(level)
                continue
            for n, ratio in enumerate(ratios):
                total[n] += _error(level - np.log1p(ratio * cosine) * shone)
        best = int(np.argmin(total))
        return float(total[best]), ratios[best]


def _edges(bright: F32, faces: Faces, sun: Sun, shades: Sequence[Surface]) -> float:
    """Return along which part of its shadows' edges the light changes as a sun has it, 0..1."""
    looked = faces.of(*LOOKED_AT)
    lit = np.zeros(looked.shape, bool)
    lit[looked] = in_sun(sun.towards, faces, looked, shades)
    level = np.log(np.maximum(bright, 1e-4))
    there, length = 0, 0
    for index in np.unique(faces.which[looked]):
        where = faces.which == index
        usual = float(np.log1p(sun.ratio * max(float(faces.normals[index] @ sun.towards), 0.0)))
        if usual < STEP or lit[where].all() or not lit[where].any():
            continue
        step = steps(level[..., None], where & lit, where & ~lit)[:, 0]
        there += int((step > max(STEP, PART * usual)).sum())
        length += len(step)
    return there / length if length else 0.0


def steps(level: F32, lit: B, dark: B) -> F32:
    """Return by how much it is brighter on the lit side of the edge between two masks.

    Parameters
    ----------
    level
        (H, W, C) log light.
    lit, dark
        (H, W) two sides of an edge.

    Returns
    -------
    steps
        (E, C) log, at so many pixels along the edge.
    """
    from scipy.ndimage import distance_transform_edt, gaussian_filter

    rows, columns = (np.flatnonzero((lit | dark).any(axis)) for axis in (1, 0))
    box = (slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1))
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
    return np.asarray((means[0] - means[1])[known])


def _error(level: F) -> float:
    off = level - np.median(level)
    return float(np.minimum(off**2, ELSE**2).sum())
