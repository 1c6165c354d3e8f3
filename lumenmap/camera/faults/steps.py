"""Steps along a line: where pixels begin to sit a hole further or nearer than the map has them.

A pixel too many or too few moves all the later ones of its line by one hole. The camera found on
such a house bends itself to fit that as well as it can, and so hides it. So each step is judged by
what is left of it after the camera, and the rails' small displacements, were free to follow: the
generalised likelihood ratio of a shape in a linear model with nuisance parameters (Kay,
"Fundamentals of statistical signal processing", volume 2, 1998, ch. 7 [M]).

It is weighed by how likely such a step is beforehand. One that may be at any of twenty pixels that
aren't seen is twenty times as likely as one at a single place, and so needs less to be believed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.faults.shown import ASKED, ASTRAY, Shown
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.site import Site

F = NDArray[np.float64]
Ints = NDArray[np.intp]

#: A step is of so many holes at most, and so many pixels are seen after it; what is seen is this
#: near to its size (as a part of it), and so many standard deviations further.
LARGEST, AFTER, NEAR, SPREAD = 6, 2, 0.35, 2.0
#: How likely a step's size is beforehand: one hole each way, and the factor for each hole more.
ONE, MORE = 0.4, 0.25
#: A pixel without a hole is seen near one; a pixel isn't seen though its neighbour is; and fewer
#: than so many in a row aren't behind something [C].
LOOSE, MISSED, STRETCH = 0.2, 0.02, 4
#: A pixel that is seen this near to where only the step has it (pixels) adds so much to the
#: likelihood ratio; so many count at most.
CAUGHT, COUNTS, MOST = 6.0, 16.0, 2
#: Its likelihood ratio (twice the logarithm), weighed so, is at least this: of 900 invented films
#: of right houses one reaches 2.8 by chance, the next -1.0 [K].
CLEAR = 2.0
#: So many steps of a size are tried in each line, and so many just before its rails end.
TRIED, TURNS = 3, 2


class Way(NamedTuple):
    """What a step of a size does to pixels, in the pictures of V cameras.

    Attributes
    ----------
    to
        (V, N) the hole that a pixel comes onto; its own if there is none before that camera.
    move
        (V, N, 2) how it moves, pixels.
    caught
        Pixels that a film shows where only the step has them.
    """

    to: Ints
    move: F
    caught: Ints


class Step(NamedTuple):
    """A step: how clear it is, its first pixel that is seen, its size in holes.

    ``before`` is the last pixel that is seen before it, or else the line's first: the step may be
    anywhere between the two.
    """

    clear: float
    first: int
    size: int
    before: int


def steps(films: Sequence[Evidence], holes: Ints, site: Site) -> list[Step]:
    """Return the clearest step of each line, the clearest first.

    Parameters
    ----------
    holes
        (N,) the hole of each pixel as it is believed so far.
    """
    pixels = site.pixels
    shown = Shown.of(films, holes, site)
    film, number = shown.rows.film, shown.rows.number
    if len(number) < 4 * ASKED:
        return []
    usual = shown.unlike(holes[number])
    tried: list[Step] = []
    for size in (s for k in range(1, LARGEST + 1) for s in (k, -k)):
        way = _way(films, holes, _further(holes, size, pixels), shown)
        # Rails hang each in its own way: pixels that come onto another are asked later.
        same = pixels.edge[way.to[film, number]] == pixels.edge[holes[number]]
        most = shown.only(same, holes[number])
        for span in pixels.lines:
            for step in _candidates(span, size, shown, most, way):
                gain = usual - _unlike(step, shown, holes, way.to, span)
                tried.append(step._replace(clear=step.clear + gain))
    clear = sorted(step for step in tried if step.clear > CLEAR)
    return sorted({int(pixels.line[s.first]): s for s in clear}.values(), key=lambda s: -s.clear)


def _unlike(step: Step, shown: Shown, holes: Ints, to: Ints, span: LineSpan) -> float:
    """Return how unlikely what is seen is with a step, each pixel on the rail that it comes onto.

    Parameters
    ----------
    holes, to
        (N,) the hole of each pixel without the step, and (V, N) after it.
    """
    number = shown.rows.number
    later = (number >= step.first) & (number < span.first + span.count)
    return shown.unlike(np.where(later, to[shown.rows.film, number], holes[number]))


def _further(holes: Ints, size: int, pixels: PixelMap) -> Ints:
    """Return (N,) the hole so many further on the wire than each pixel's; -1 off its line's holes.

    Round a corner that is another way in the picture than along the edge.
    """
    way = np.sign(np.gradient(holes.astype(float))).astype(np.intp)
    to = holes + size * way
    there = (holes >= 0) & (to >= 0) & (to < len(holes))
    to = np.where(there, to, 0)
    there &= (pixels.line[to] == pixels.line[holes]) & (pixels.edge[to] >= 0)
    return np.where(there, to, -1)


def _way(films: Sequence[Evidence], holes: Ints, to: Ints, shown: Shown) -> Way:
    """Return what it does in the films' pictures that pixels come onto holes ``to`` (N,)."""
    own, moves, caught = [], [], [np.zeros(0, np.intp)]
    for k, film in enumerate(films):
        places, spots = film.seen.places, film.spots
        there = (to >= 0) & film.seen.usable[to]
        move = np.where(there[:, None], places[to] - places[holes], 0.0)
        far = np.linalg.norm(move, axis=1) > 2 * ASTRAY
        off = np.linalg.norm(spots.place - places[to[spots.number]], axis=1)
        astray = spots.number[far[spots.number] & (off < CAUGHT)]
        caught.append(np.setdiff1d(astray, shown.rows.number[shown.rows.film == k]))
        own.append(np.where(there, to, holes))
        moves.append(move)
    return Way(np.stack(own), np.stack(moves), np.unique(np.concatenate(caught)))


def _candidates(span: LineSpan, size: int, shown: Shown, most: Shown, way: Way) -> list[Step]:
    """Return steps of a size in a line that may be clear; `_unlike` decides.

    Parameters
    ----------
    most
        ``shown`` without the pixels that come onto another rail with the step.
    """
    end = span.first + span.count - 1
    number, rest = (
        np.unique(n[(n >= span.first) & (n <= end)]) for n in (shown.rows.number, most.rows.number)
    )
    if len(number) < AFTER:
        return []
    ratios = _ratios(most, span, way.move)
    clear = np.append(ratios, -math.inf)[np.searchsorted(rest, number)]
    clear[len(clear) - AFTER + 1 :] = -math.inf
    before = np.array([span.first - 1, *number[:-1]])
    own = way.caught[(way.caught >= span.first) & (way.caught <= end)]
    later = own > before[:, None]
    likely = COUNTS * np.minimum(later.sum(1), MOST)
    first = np.minimum(number, np.where(later, own, end).min(1, initial=end))
    hidden = first - before - 1
    places = _likely(size, hidden, int(end - number[-1]), before >= span.first)
    likely += 2 * np.log(places / way.to.shape[1])
    best = np.argsort(-clear - likely)
    # What the pixels on the other rail say isn't known yet.
    other = np.setdiff1d(number, rest)[:, None] - number
    near = np.asarray((other >= 0) & (other < 2 * abs(size))).any(axis=0)
    turns = best[np.asarray(near)[best]]
    tried = {*best[:TRIED].tolist(), *turns[:TURNS].tolist()}
    return [
        Step(float(likely[k]), int(first[k]), size, max(span.first, int(before[k])))
        for k in tried
        if clear[k] > -math.inf
    ]


def _ratios(shown: Shown, span: LineSpan, moves: F) -> F:
    """Return (P,) the likelihood ratio (twice the logarithm) of a step at each of a line's pixels.

    Parameters
    ----------
    shown
        P pixels of the line are, in one film or more.
    moves
        (V, N, 2) how pixels move with the step in each film's picture.
    """
    film, number, _, noise = shown.rows
    here = np.flatnonzero((number >= span.first) & (number < span.first + span.count))
    move = moves[film[here], number[here]] / noise[here, None]
    # Sums over all pixels from each one on, in all films.
    first = np.unique(number[here], return_index=True)[1]
    with_left = _from_here((move * shown.left[here]).sum(1))[first]
    with_basis = _from_here((move[:, :, None] * shown.basis[here]).sum(1))[first]
    square = _from_here((move**2).sum(1))[first]
    square = np.maximum(square - (with_basis**2).sum(1), 1e-9)
    near = np.abs(with_left / square - 1) < NEAR + SPREAD / np.sqrt(square)
    return np.where(near, 2 * with_left - square, -math.inf)


def _from_here(values: F) -> F:
    return np.asarray(np.cumsum(values[::-1], axis=0)[::-1], np.float64)


def _likely(size: int, hidden: Ints, end: int, between: NDArray[np.bool_]) -> F:
    """Return (K,) how likely steps of a size are beforehand, as a number of places.

    Parameters
    ----------
    hidden
        (K,) pixels in a row that aren't seen where it would be.
    end
        Pixels at the line's end that aren't seen.
    between
        (K,) whether one is seen before them: what hides a line's first pixels is part of something
        larger.
    """
    count = abs(size)
    if size < 0:  # the pixels too many have no hole: they are among those that aren't seen
        places = np.where(hidden >= count, hidden - count + 1, LOOSE)
        few = (hidden >= count) & (hidden < STRETCH) & between
        places = np.where(few, places / MISSED, places)
    else:  # the line's last pixels have no hole
        last = LOOSE if end < count else 1 / MISSED if end == count else 1.0
        places = (hidden + 1) * last
    return np.asarray(ONE * MORE ** (count - 1) * places, np.float64)
