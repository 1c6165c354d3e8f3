"""`costs`: what it costs, by what films show, that a pixel sits in a hole."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.evidence.seen import Seen
from lumenmap.camera.film.spots import Spots
from lumenmap.pixels.pixelmap import LineSpan

F = NDArray[np.float64]


def costs(films: Sequence[Evidence], span: LineSpan) -> F:
    """Return (V, K, N): what it costs in each of V films that a line's pixel sits in a hole.

    From 0 to 1, as minus the logarithm of how likely it is; 0 if the film doesn't show the pixel.
    """
    return np.stack([_costs(film.spots, film.seen, span.first, span.count) for film in films])


def _costs(spots: Spots, seen: Seen, first: int, count: int) -> F:
    out = np.zeros((count, len(seen.places)))
    own = np.flatnonzero((spots.number >= first) & (spots.number < first + count))
    known = np.zeros(count, bool)
    for i in own:
        off = spots.place[i] - seen.places
        u = (off * seen.along).sum(1) / seen.spacing
        v = (off[:, 0] * seen.along[:, 1] - off[:, 1] * seen.along[:, 0]) / seen.across
        cost = np.minimum(u * u + v * v, 1.0)
        cost[~seen.usable] = 1.0
        row = int(spots.number[i]) - first
        out[row] = np.minimum(out[row], cost) if known[row] else cost
        known[row] = True
    return out
