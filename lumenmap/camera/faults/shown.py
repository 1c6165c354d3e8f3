"""`Shown`: how far pixels are seen from their holes, after all that may move them a little.

That is the camera, which isn't known exactly, and the rails, which hang a little off the model:
nuisance parameters of a linear model.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

from lumenmap.camera.evidence.seen import Seen
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


class View(NamedTuple):
    """The holes as a camera sees them, and what may move them in the picture.

    Attributes
    ----------
    places
        (N, 2) pixels.
    ways
        (N, 2, U) how they move (pixels) with what is free.
    prior
        (U, U) what that costs: the matrix of a square form.
    """

    places: F
    ways: F
    prior: F

    def free(self, own: Ints, noise: float) -> tuple[F, F]:
        """Return (2 K, U) how pixels in holes ``own`` move, and the Cholesky factor (U, U)."""
        free = self.ways[own].reshape(2 * len(own), -1) / noise
        return free, np.asarray(np.linalg.cholesky(self.prior + free.T @ free), np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """Pixels that are seen near their holes.

    Attributes
    ----------
    number, place
        (K,) the pixels, and (K, 2) where each is seen.
    noise
        How far each is off by chance, in each direction (pixels).
    left
        (K, 2) how far it is seen from its hole when all that is free has followed, in ``noise``.
    basis
        (K, 2, U) the ways in which places move with what is free, orthonormal.
    view
        The camera and the holes as it sees them.
    """

    number: Ints
    place: F
    noise: float
    left: F
    basis: F
    view: View

    @classmethod
    def of(
        cls, shot: Shot, spots: Spots, seen: Seen, holes: Ints, lamps: F, pixels: PixelMap
    ) -> Shown:
        """Return what spots show of the pixels in their ``holes`` (N,); ``lamps`` (N, 3) m."""
        number, offset = _once(spots, seen, holes)
        own = holes[number]
        noise = _noise(offset, pixels.edge[own])
        return cls.seen_in(
            number, seen.places[own] + offset, own, noise, _view(shot, seen, lamps, pixels)
        )

    @classmethod
    def seen_in(cls, number: Ints, place: F, own: Ints, noise: float, view: View) -> Shown:
        """Return what pixels show that are seen at places (K, 2) and sit in holes ``own`` (K,)."""
        free, factor = view.free(own, noise)
        basis = solve_triangular(factor, free.T, lower=True).T
        left = ((place - view.places[own]) / noise).ravel()
        left = left - basis @ (basis.T @ left)
        shape = left.reshape(-1, 2), basis.reshape(len(own), 2, -1)
        return cls(number, place, noise, *shape, view)

    def only(self, kept: NDArray[np.bool_], own: Ints) -> Shown:
        """Return what those that are ``kept`` (K,) show, in holes ``own`` (K,)."""
        return self.seen_in(self.number[kept], self.place[kept], own[kept], self.noise, self.view)

    def unlike(self, own: Ints) -> float:
        """Return how unlikely it is to see the pixels so if they sit in holes ``own`` (K,).

        Minus twice the logarithm of the likelihood, but for a constant.
        """
        free, factor = self.view.free(own, self.noise)
        offset = ((self.place - self.view.places[own]) / self.noise).ravel()
        followed = solve_triangular(factor, free.T @ offset, lower=True)
        return float(offset @ offset - followed @ followed)


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


def _view(shot: Shot, seen: Seen, lamps: F, pixels: PixelMap) -> View:
    """Return how the holes move in the picture with what is free; ``lamps`` (N, 3) m."""
    camera, prior = slopes(shot, lamps)
    _, depth = shot.project(lamps)
    scale = shot.focal / np.maximum(depth, 0.5)
    along = seen.along
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    count = len(lamps)
    moves = [np.tile(way, (count, 1)) for way in CENTRE * shot.size[0] * np.eye(2)]
    for edge in np.unique(pixels.edge[pixels.edge >= 0]):
        own = pixels.edge == edge
        ends = np.flatnonzero(own)[[0, -1]]
        part = 2 * (np.arange(count) - ends[0]) / max(1, int(ends[1] - ends[0])) - 1
        here = own * scale
        for way, size in (
            (along, ALONG * here),
            (along, ENDS * here * part),
            (across, ACROSS * here),
            (across, ENDS * here * part),
            (across, ENDS * here * part**2),
        ):
            moves.append(size[:, None] * way)
    rest = np.stack(moves, axis=2)
    ways = np.concatenate([camera.reshape(count, 2, -1), rest], axis=2)
    square = np.eye(ways.shape[2])
    square[: camera.shape[1], : camera.shape[1]] = prior.T @ prior
    return View(seen.places, ways, square)
