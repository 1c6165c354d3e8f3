"""Steps along a line: where pixels begin to sit a hole further or nearer than the map has them.

A pixel too many or too few moves all the later ones of its line by one hole. The camera found on
such a house bends itself to fit that as well as it can, and so hides it. So each step is judged by
what is left of it after the camera, and the rails' small displacements, were free to follow: the
generalised likelihood ratio of a shape in a linear model with nuisance parameters (Kay,
"Fundamentals of statistical signal processing", volume 2, 1998, ch. 7 [M]).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.faults.holes import Seen
from lumenmap.camera.film.spots import Spots
from lumenmap.camera.lens.refine import slopes
from lumenmap.camera.lens.shot import Shot
from lumenmap.pixels.pixelmap import PixelMap

F = NDArray[np.float64]
Ints = NDArray[np.intp]

#: A spot is off by so many pixels in each direction (one standard deviation).
NOISE = 0.8
#: Rails hang so far from where the model has them (m) [C]: along themselves, where the next rail or
#: the edge's end is in the way, and across.
ALONG, ACROSS = 0.012, 0.03
#: A step is of so many holes at most, has so many pixels seen on each side, and what is seen is
#: this near to its size (as a part of it).
LARGEST, SIDE, NEAR = 6, 4, 0.35
#: Its likelihood ratio is at least this (twice the logarithm): chance gives 2 ln 3000 = 16 once
#: where a few hundred pixels and twelve sizes are tried [K].
CLEAR = 18.0
#: Spots further from their hole than this, or off otherwise than their neighbours, are mistaken
#: (pixels); and how many neighbours on each side are asked.
ASTRAY, ODD, ASKED = 25.0, 5.0, 4


class Step(NamedTuple):
    """A step: how clear it is, its first pixel that is seen, its size in holes.

    ``before`` is the last pixel that is seen before it; it may be anywhere between the two.
    """

    clear: float
    first: int
    size: int
    before: int


def steps(
    shot: Shot, spots: Spots, seen: Seen, holes: Ints, lamps: F, pixels: PixelMap
) -> list[Step]:
    """Return the clearest step of each line, the clearest first.

    Parameters
    ----------
    holes
        (N,) the hole of each pixel as it is believed so far.
    lamps
        (N, 3) m.
    """
    number, place = _once(spots, seen, holes)
    if len(number) < 4 * SIDE:
        return []
    own = holes[number]
    rest = (place - seen.places[own]).ravel() / NOISE
    free = _free(shot, lamps[own], seen, own, pixels)
    basis, _ = np.linalg.qr(free)
    count = len(rest)
    basis = basis[:count]
    left = rest - basis @ (basis.T @ rest)
    sizes = [size for k in range(1, LARGEST + 1) for size in (k, -k)]
    moves = [_move(seen, holes, number, size, pixels) / NOISE for size in sizes]
    found: list[Step] = []
    for span in pixels.lines:
        here = np.flatnonzero((number >= span.first) & (number < span.first + span.count))
        tried = [_clearest(here, move, left, basis) for move in moves]
        clear, k = max(tried)
        if clear > CLEAR:
            before, first = map(int, number[here[k - 1 : k + 1]])
            found.append(Step(clear, first, sizes[tried.index((clear, k))], before))
    return sorted(found, key=lambda s: -s.clear)


def _once(spots: Spots, seen: Seen, holes: Ints) -> tuple[Ints, F]:
    """Return the pixels that are seen near their holes, and where: of two spots the nearer."""
    own = holes[spots.number]
    off = np.linalg.norm(spots.place - seen.places[own], axis=1)
    good = np.flatnonzero((own >= 0) & seen.usable[own] & (off < ASTRAY))
    order = good[np.lexsort((off[good], spots.number[good]))]
    number, first = np.unique(spots.number[order], return_index=True)
    place = spots.place[order[first]]
    offset = place - seen.places[holes[number]]
    around = [offset[max(0, k - ASKED) : k + ASKED + 1] for k in range(len(number))]
    usual = np.array([np.median(near, axis=0) for near in around]).reshape(-1, 2)
    kept = np.linalg.norm(offset - usual, axis=1) < ODD + seen.spacing[holes[number]]
    return number[kept], place[kept]


def _free(shot: Shot, points: F, seen: Seen, own: Ints, pixels: PixelMap) -> F:
    """Return (2 K + P, U): how places move with what is free, and below it what that costs."""
    camera, prior = slopes(shot, points)
    edges = pixels.edge[own]
    rails, kinds = np.unique(edges, return_inverse=True)
    _, depth = shot.project(points)
    scale = shot.focal / np.maximum(depth, 0.5)
    along = seen.along[own]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    moves = np.zeros((2 * len(own), 2 * len(rails)))
    row = 2 * np.arange(len(own))
    for way, (size, unit) in enumerate(((ALONG, along), (ACROSS, across))):
        for axis in (0, 1):
            moves[row + axis, 2 * kinds + way] = size * scale * unit[:, axis]
    low = np.zeros((len(prior), moves.shape[1]))
    rows = np.hstack([camera, moves]) / NOISE
    costs = np.hstack([prior, low])
    units = np.hstack([np.zeros((moves.shape[1], camera.shape[1])), np.eye(moves.shape[1])])
    return np.concatenate([rows, costs, units])


def _move(seen: Seen, holes: Ints, number: Ints, size: int, pixels: PixelMap) -> F:
    """Return (K, 2) how pixels move in the picture if they sit so many holes further on their wire.

    Round a corner that is another way than along the edge. Pixels that would leave their line's
    holes say nothing: 0.
    """
    own = holes[number]
    way = np.sign(np.gradient(holes.astype(float))).astype(np.intp)[number]
    to = own + size * way
    there = (to >= 0) & (to < len(holes))
    to = np.where(there, to, own)
    there &= (pixels.line[to] == pixels.line[own]) & seen.usable[to]
    return np.where(there[:, None], seen.places[to] - seen.places[own], 0.0)


def _clearest(here: Ints, move: F, left: F, basis: F) -> tuple[float, int]:
    """Return how clear the clearest step of a line is (0 if there is none), and where in ``here``.

    Parameters
    ----------
    here
        The line's pixels among those that are seen.
    move
        (K, 2) how all seen pixels move with the step, in standard deviations.
    """
    if len(here) < 2 * SIDE:
        return 0.0, 0
    rows = np.stack([2 * here, 2 * here + 1], axis=1)
    each = move[here]
    # Sums over all pixels from each one on.
    with_left = _from_here((each * left[rows]).sum(1))
    with_basis = _from_here((each[:, :, None] * basis[rows]).sum(1))
    square = _from_here((each**2).sum(1)) - (with_basis**2).sum(1)
    part = with_left / np.maximum(square, 1e-9)
    clear = np.where(np.abs(part - 1) < NEAR, 2 * with_left - square, 0.0)
    clear[:SIDE] = clear[len(clear) - SIDE + 1 :] = 0.0
    k = int(np.argmax(clear))
    return float(clear[k]), k


def _from_here(values: F) -> F:
    return np.asarray(np.cumsum(values[::-1], axis=0)[::-1])
