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
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.faults.holes import Seen
from lumenmap.camera.faults.shown import ASKED, ASTRAY, Shown
from lumenmap.camera.film.spots import Spots
from lumenmap.camera.lens.shot import Shot
from lumenmap.pixels.pixelmap import LineSpan, PixelMap

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
#: Its likelihood ratio (twice the logarithm), weighed so, is at least this: of 1,000 invented films
#: of right houses one reaches 3 by chance, the next 1.4 [K].
CLEAR = 4.0


class Step(NamedTuple):
    """A step: how clear it is, its first pixel that is seen, its size in holes.

    ``before`` is the last pixel that is seen before it, or else the line's first: the step may be
    anywhere between the two.
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
    shown = Shown.of(shot, spots, seen, holes, lamps, pixels)
    if len(shown.number) < 4 * ASKED:
        return []
    tried: list[Step] = []
    for size in (s for k in range(1, LARGEST + 1) for s in (k, -k)):
        to = _further(holes, size, seen, pixels)
        move = np.where((to >= 0)[:, None], seen.places[to] - seen.places[holes], 0.0)
        caught = np.setdiff1d(_there(spots, seen, to, move), shown.number)
        tried += [_clearest(span, size, shown, move, caught) for span in pixels.lines]
    clear = sorted(step for step in tried if step.clear > CLEAR)
    return sorted({int(pixels.line[s.first]): s for s in clear}.values(), key=lambda s: -s.clear)


def _further(holes: Ints, size: int, seen: Seen, pixels: PixelMap) -> Ints:
    """Return (N,) the hole so many further on the wire than each pixel's; -1 off its line's holes.

    Round a corner that is another way in the picture than along the edge.
    """
    way = np.sign(np.gradient(holes.astype(float))).astype(np.intp)
    to = holes + size * way
    there = (holes >= 0) & (to >= 0) & (to < len(holes))
    to = np.where(there, to, 0)
    there &= (pixels.line[to] == pixels.line[holes]) & seen.usable[to]
    return np.where(there, to, -1)


def _there(spots: Spots, seen: Seen, to: Ints, move: F) -> Ints:
    """Return the pixels that are seen where a step has them, far from where they were."""
    far = np.linalg.norm(move, axis=1) > 2 * ASTRAY
    off = np.linalg.norm(spots.place - seen.places[to[spots.number]], axis=1)
    near = far[spots.number] & (to[spots.number] >= 0) & (off < CAUGHT)
    return np.asarray(spots.number[near], np.intp)


def _clearest(span: LineSpan, size: int, shown: Shown, move: F, caught: Ints) -> Step:
    """Return the clearest step of a size in a line; with minus infinity if none may be.

    Parameters
    ----------
    move
        (N, 2) how pixels move in the picture with the step.
    caught
        Pixels that are seen where only the step has them.
    """
    end = span.first + span.count - 1
    here = np.flatnonzero((shown.number >= span.first) & (shown.number <= end))
    if len(here) < AFTER:
        return Step(-math.inf, span.first, size, span.first)
    number = shown.number[here]
    clear = _ratios(shown, here, move[number] / shown.noise)
    clear[len(clear) - AFTER + 1 :] = -math.inf
    before = np.array([span.first - 1, *number[:-1]])
    own = caught[(caught >= span.first) & (caught <= end)]
    later = own > before[:, None]
    clear += COUNTS * np.minimum(later.sum(1), MOST)
    first = np.minimum(number, np.where(later, own, end).min(1, initial=end))
    clear += 2 * np.log(_likely(size, first - before - 1, int(end - number[-1])) / len(move))
    k = int(np.argmax(clear))
    return Step(float(clear[k]), int(first[k]), size, max(span.first, int(before[k])))


def _ratios(shown: Shown, here: Ints, move: F) -> F:
    """Return (K,) the likelihood ratio (twice the logarithm) of a step at each of ``here`` (K,).

    Parameters
    ----------
    move
        (K, 2) how they move with the step, in the noise's standard deviations.
    """
    # Sums over all pixels from each one on.
    with_left = _from_here((move * shown.left[here]).sum(1))
    with_basis = _from_here((move[:, :, None] * shown.basis[here]).sum(1))
    square = np.maximum(_from_here((move**2).sum(1)) - (with_basis**2).sum(1), 1e-9)
    near = np.abs(with_left / square - 1) < NEAR + SPREAD / np.sqrt(square)
    return np.where(near, 2 * with_left - square, -math.inf)


def _from_here(values: F) -> F:
    return np.asarray(np.cumsum(values[::-1], axis=0)[::-1], np.float64)


def _likely(size: int, hidden: Ints, end: int) -> F:
    """Return (K,) how likely steps of a size are beforehand, as a number of places.

    Parameters
    ----------
    hidden
        (K,) pixels in a row that aren't seen where it would be.
    end
        Pixels at the line's end that aren't seen.
    """
    count = abs(size)
    if size < 0:  # the pixels too many have no hole: they are among those that aren't seen
        places = np.where(hidden >= count, hidden - count + 1, LOOSE)
        places = np.where((hidden >= count) & (hidden < STRETCH), places / MISSED, places)
    else:  # the line's last pixels have no hole
        last = LOOSE if end < count else 1 / MISSED if end == count else 1.0
        places = (hidden + 1) * last
    return np.asarray(ONE * MORE ** (count - 1) * places, np.float64)
