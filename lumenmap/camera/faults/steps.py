"""Steps along an edge: where pixels begin to sit a hole further or nearer than the map has them.

A pixel too many or too few moves all the later ones by one hole. The camera found on such a house
lies between the two halves, so that each is off by half a hole: only the step between them is seen.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.faults.holes import Seen
from lumenmap.camera.film.spots import Spots
from lumenmap.pixels.pixelmap import PixelMap

F = NDArray[np.float64]
Ints = NDArray[np.intp]

#: A step is looked for with so many pixels seen on each side of it, and is this near to a hole.
SIDE, NEAR = 5, 0.35
#: A step must stand out so many times from what else differs along the edge.
CLEAR = 4.0


def stepped(
    spots: Spots, seen: Seen, holes: Ints, pixels: PixelMap
) -> Iterator[tuple[float, Ints]]:
    """Yield how clear a step is, and (N,) the hole of each pixel with it.

    Parameters
    ----------
    holes
        (N,) the hole of each pixel as it is believed so far.
    """
    number, along = _along(spots, seen, holes)
    for span in pixels.lines:
        own = (number >= span.first) & (number < span.first + span.count)
        for edge in np.unique(pixels.edge[holes[number[own]]]):
            here = np.flatnonzero(own & (pixels.edge[holes[number]] == edge))
            found = _step(number[here], along[here])
            if found is None:
                continue
            clear, begin, size = found
            moved = holes.copy()
            part = slice(begin, span.first + span.count)
            up = holes[number[here][-1]] >= holes[number[here][0]]
            moved[part] += size if up else -size
            moved[part] = np.where(
                (moved[part] >= 0) & (moved[part] < len(pixels)), moved[part], -1
            )
            yield clear, moved


def _along(spots: Spots, seen: Seen, holes: Ints) -> tuple[Ints, F]:
    """Return pixels in order, and how many holes further along the wire each is seen."""
    own = holes[spots.number]
    off = spots.place - seen.places[own]
    u = (off * seen.along[own]).sum(1) / seen.spacing[own]
    across = np.abs(off[:, 0] * seen.along[own, 1] - off[:, 1] * seen.along[own, 0])
    good = np.flatnonzero(
        (own >= 0) & seen.usable[own] & (across < seen.across[own]) & (abs(u) < 3)
    )
    # Of a pixel's spots, the brightest.
    order = good[np.lexsort((-spots.strength[good], spots.number[good]))]
    number, first = np.unique(spots.number[order], return_index=True)
    return number, u[order][first]


def _step(number: Ints, along: F) -> tuple[float, int, int] | None:
    """Return how clear a step is, the first pixel after it, and its size in holes."""
    best: tuple[float, int, int] | None = None
    for k in range(SIDE, len(number) - SIDE + 1):
        near = slice(max(0, k - 3 * SIDE), k), slice(k, k + 3 * SIDE)
        left, right = along[near[0]], along[near[1]]
        change = float(np.median(right) - np.median(left))
        size = round(change)
        spread = np.concatenate([left - np.median(left), right - np.median(right)])
        noise = float(np.abs(spread).mean()) + 0.05
        clear = abs(change) / noise
        if (
            size
            and abs(change - size) < NEAR
            and clear > CLEAR
            and (best is None or clear > best[0])
        ):
            best = clear, int(number[k]), size
    return best
