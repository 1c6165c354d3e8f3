"""`Shown`: how far pixels are seen from their holes, after all that may move them a little.

That is each film's camera, which isn't known exactly, and the rails, which hang a little off the
model, and in all films alike: nuisance parameters of a linear model.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag, solve_triangular

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.evidence.seen import Seen
from lumenmap.camera.film.spots import Spots
from lumenmap.camera.lens.refine import slopes
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.site import Site

F = NDArray[np.float64]
B = NDArray[np.bool_]
Ints = NDArray[np.intp]

#: A spot is off by so many pixels in each direction at least (one standard deviation): 0.1 in clean
#: films [K], and a pixel sits a few millimetres from the middle of its hole [C].
NOISE = 0.3
#: Rails hang so far from where the model has them (m) [C], in each direction.
HANGS = 0.02
#: Their ends are so much further off (m) [C]: a rail is longer, turned or bent.
ENDS = 0.005
#: The lens's axis meets the film so far from its middle, as a part of its width [C]: phones move
#: the picture to hold it still, and frames are moved onto one that shook too.
CENTRE = 0.01
#: Spots further from their hole than this, or off otherwise than their neighbours, are mistaken
#: (pixels); and how many neighbours on each side are asked.
ASTRAY, ODD, ASKED = 25.0, 5.0, 4


class Views(NamedTuple):
    """The holes as V cameras see them, and what may move them in the pictures.

    Attributes
    ----------
    places
        (V, N, 2) pixels.
    ways
        (V, N, 2, U) how they move (pixels) with what is free.
    prior
        (U, U) what that costs: the matrix of a square form.
    """

    places: F
    ways: F
    prior: F


class Rows(NamedTuple):
    """K sightings of pixels, by pixel: in which ``film`` (K,), which ``number`` (K,).

    ``place`` (K, 2) is where, and ``noise`` (K,) how far off by chance in each direction (pixels).
    """

    film: Ints
    number: Ints
    place: F
    noise: F

    def at(self, which: Ints) -> Rows:
        """Return some of them."""
        return Rows(self.film[which], self.number[which], self.place[which], self.noise[which])

    def only(self, kept: B) -> Rows:
        """Return those that are ``kept`` (K,)."""
        return self.at(np.flatnonzero(kept))


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """Pixels that films show near their holes.

    Attributes
    ----------
    rows
        Which film shows which pixel where.
    left
        (K, 2) how far it is seen from its hole when all that is free has followed, in its noise.
    basis
        (K, 2, U) the ways in which places move with what is free, orthonormal.
    views
        The cameras and the holes as they see them.
    """

    rows: Rows
    left: F
    basis: F
    views: Views

    @classmethod
    def of(cls, films: Sequence[Evidence], holes: Ints, site: Site) -> Shown:
        """Return what films show of the pixels in their ``holes`` (N,)."""
        parts = [_rows(k, film, holes, site.pixels) for k, film in enumerate(films)]
        rows = Rows(*(np.concatenate(part) for part in zip(*parts, strict=True)))
        rows = rows.at(np.lexsort((rows.film, rows.number)))
        return cls.seen_in(rows, holes[rows.number], _views(films, site))

    @classmethod
    def seen_in(cls, rows: Rows, own: Ints, views: Views) -> Shown:
        """Return what sightings show of pixels that sit in holes ``own`` (K,)."""
        free, factor, offset = _fit(rows, own, views)
        basis = solve_triangular(factor, free.T, lower=True).T
        left = offset - basis @ (basis.T @ offset)
        return cls(rows, left.reshape(-1, 2), basis.reshape(len(own), 2, -1), views)

    def only(self, kept: B, own: Ints) -> Shown:
        """Return what those that are ``kept`` (K,) show, in holes ``own`` (K,)."""
        return self.seen_in(self.rows.only(kept), own[kept], self.views)

    def unlike(self, own: Ints) -> float:
        """Return how unlikely it is to see the pixels so if they sit in holes ``own`` (K,).

        Minus twice the logarithm of the likelihood, but for a constant.
        """
        free, factor, offset = _fit(self.rows, own, self.views)
        followed = solve_triangular(factor, free.T @ offset, lower=True)
        return float(offset @ offset - followed @ followed)


def _fit(rows: Rows, own: Ints, views: Views) -> tuple[F, F, F]:
    """Return the linear model of pixels in holes ``own``, in their noise.

    How they move with what is free (2 K, U), the Cholesky factor (U, U) of what that costs, and how
    far they are seen from there (2 K,).
    """
    noise = rows.noise[:, None]
    free = (views.ways[rows.film, own] / noise[..., None]).reshape(2 * len(own), -1)
    offset = ((rows.place - views.places[rows.film, own]) / noise).ravel()
    return free, np.asarray(np.linalg.cholesky(views.prior + free.T @ free), np.float64), offset


def _rows(k: int, film: Evidence, holes: Ints, pixels: PixelMap) -> Rows:
    """Return what film ``k`` shows of the pixels in their holes."""
    number, offset = _once(film.spots, film.seen, holes)
    own = holes[number]
    count = len(number)
    noise = np.full(count, _noise(offset, pixels.edge[own]))
    return Rows(np.full(count, k, np.intp), number, film.seen.places[own] + offset, noise)


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


def _views(films: Sequence[Evidence], site: Site) -> Views:
    """Return how the holes move in the pictures with what is free."""
    lamps, _ = lamp_places(site)
    cameras, priors, by_place = [], [], []
    for film in films:
        camera, prior = slopes(film.shot, lamps)
        camera = camera.reshape(len(lamps), 2, -1)
        centre = np.broadcast_to(CENTRE * film.shot.size[0] * np.eye(2), (len(lamps), 2, 2))
        cameras.append(np.concatenate([camera, centre], axis=2))
        priors.append(block_diag(prior.T @ prior, np.eye(2)))
        # A lamp that moves is as a camera that moves the other way.
        by_place.append(-camera[:, :, 3:6])
    rails = _rails(lamps, site.pixels)
    shared = np.einsum("vnij,njr->vnir", np.stack(by_place), rails)
    size = sum(c.shape[2] for c in cameras)
    ways = np.zeros((len(films), len(lamps), 2, size + rails.shape[2]))
    ways[..., size:] = shared
    first = 0
    for k, camera in enumerate(cameras):
        ways[k, :, :, first : first + camera.shape[2]] = camera
        first += camera.shape[2]
    prior = block_diag(*priors, np.eye(rails.shape[2]))
    return Views(np.stack([film.seen.places for film in films]), ways, prior)


def _rails(lamps: F, pixels: PixelMap) -> F:
    """Return (N, 3, R) how lamps (N, 3) move (m) if rails hang otherwise than the model has them.

    Each is moved, longer or turned, or bent.
    """
    count = len(lamps)
    moves = []
    for edge in np.unique(pixels.edge[pixels.edge >= 0]):
        own = pixels.edge == edge
        ends = np.flatnonzero(own)[[0, -1]]
        part = own * (2 * (np.arange(count) - ends[0]) / max(1, int(ends[1] - ends[0])) - 1)
        along = lamps[ends[1]] - lamps[ends[0]]
        across = np.linalg.svd(along[None])[2][1:]
        moves += [HANGS * own[:, None] * way for way in np.eye(3)]
        moves += [ENDS * part[:, None] * way for way in np.eye(3)]
        moves += [ENDS * part[:, None] ** 2 * way for way in across]
    return np.stack(moves, axis=2)
