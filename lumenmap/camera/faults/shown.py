"""`Shown`: how far pixels are seen from their holes, after all that may move them a little.

That is the camera, which isn't known exactly, and the rails, which hang a little off the model:
nuisance parameters of a linear model.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.faults.holes import Seen
from lumenmap.camera.film.spots import Spots
from lumenmap.camera.lens.refine import slopes
from lumenmap.camera.lens.shot import Shot
from lumenmap.pixels.pixelmap import PixelMap

F = NDArray[np.float64]
Ints = NDArray[np.intp]

#: A spot is off by so many pixels in each direction at least (one standard deviation): 0.1 in clean
#: films [K], and a pixel sits a few millimetres from the middle of its hole [C].
NOISE = 0.3
#: Rails hang so far from where the model has them (m) [C]: along themselves, and across.
ALONG, ACROSS = 0.02, 0.02
#: Their ends are so much further off (m) [C]: a rail is longer, turned or bent.
ENDS = 0.005
#: The lens's axis meets the film so far from its middle, as a part of its width [C]: phones move
#: the picture to hold it still, and frames are moved onto one that shook too.
CENTRE = 0.01
#: Spots further from their hole than this, or off otherwise than their neighbours, are mistaken
#: (pixels); and how many neighbours on each side are asked.
ASTRAY, ODD, ASKED = 25.0, 5.0, 4


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """Pixels that are seen near their holes.

    Attributes
    ----------
    number
        (K,) the pixels.
    noise
        How far each is off by chance, in each direction (pixels).
    left
        (K, 2) how far it is seen from its hole when all that is free has followed, in ``noise``.
    basis
        (K, 2, U) the ways in which places move with what is free, orthonormal.
    """

    number: Ints
    noise: float
    left: F
    basis: F

    @classmethod
    def of(
        cls, shot: Shot, spots: Spots, seen: Seen, holes: Ints, lamps: F, pixels: PixelMap
    ) -> Shown:
        """Return what spots show of the pixels in their ``holes`` (N,); ``lamps`` (N, 3) m."""
        number, offset = _once(spots, seen, holes)
        own = holes[number]
        noise = _noise(offset, pixels.edge[own])
        free = _free(shot, seen, own, lamps, pixels)
        free[: 2 * len(own)] /= noise
        basis = np.linalg.qr(free)[0][: 2 * len(own)]
        left = (offset / noise).ravel()
        left = left - basis @ (basis.T @ left)
        return cls(number, noise, left.reshape(-1, 2), basis.reshape(len(own), 2, -1))


def _once(spots: Spots, seen: Seen, holes: Ints) -> tuple[Ints, F]:
    """Return the pixels that are seen near their holes, and how far off: the nearer spot."""
    own = holes[spots.number]
    off = np.linalg.norm(spots.place - seen.places[own], axis=1)
    good = np.flatnonzero((own >= 0) & seen.usable[own] & (off < ASTRAY))
    order = good[np.lexsort((off[good], spots.number[good]))]
    number, first = np.unique(spots.number[order], return_index=True)
    offset = spots.place[order[first]] - seen.places[holes[number]]
    around = [offset[max(0, k - ASKED) : k + ASKED + 1] for k in range(len(number))]
    usual = np.array([np.median(near, axis=0) for near in around]).reshape(-1, 2)
    kept = np.linalg.norm(offset - usual, axis=1) < ODD + seen.spacing[holes[number]]
    return number[kept], offset[kept]


def _noise(offset: F, edge: NDArray[np.integer]) -> float:
    """Return how far pixels are off by chance: as each differs from its neighbours."""
    same = (edge[2:] == edge[1:-1]) & (edge[1:-1] == edge[:-2])
    bend = (offset[2:] - 2 * offset[1:-1] + offset[:-2])[same]
    if not len(bend):
        return NOISE
    # The median size of a normal distribution's values is 0.6745 standard deviations.
    return max(NOISE, float(np.median(np.abs(bend))) / 0.6745 / math.sqrt(6))


def _free(shot: Shot, seen: Seen, own: Ints, lamps: F, pixels: PixelMap) -> F:
    """Return (2 K + P, U): how places move (pixels) with what is free, and what that costs."""
    camera, prior = slopes(shot, lamps[own])
    _, depth = shot.project(lamps[own])
    scale = shot.focal / np.maximum(depth, 0.5)
    along = seen.along[own]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    shift = CENTRE * shot.size[0] * np.eye(2)
    moves = [np.tile(way, len(own)) for way in shift]
    for edge in np.unique(pixels.edge[own]):
        ends = np.flatnonzero(pixels.edge == edge)[[0, -1]]
        part = 2 * (own - ends[0]) / max(1, int(ends[1] - ends[0])) - 1
        here = (pixels.edge[own] == edge) * scale
        for way, size in (
            (along, ALONG * here),
            (along, ENDS * here * part),
            (across, ACROSS * here),
            (across, ENDS * here * part),
            (across, ENDS * here * part**2),
        ):
            moves.append((size[:, None] * way).ravel())
    rest = np.stack(moves, axis=1)
    none = np.zeros((len(prior), rest.shape[1])), np.zeros((rest.shape[1], camera.shape[1]))
    return np.block([[camera, rest], [prior, none[0]], [none[1], np.eye(rest.shape[1])]])
