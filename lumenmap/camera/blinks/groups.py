"""Groups of neighbouring pixels, whose light on the house is measured together."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pixels.pixelmap import PixelMap

#: Groups, about: few enough for 31 pictures of half of them.
GROUPS, MOST = 24, 31


def groups(pixels: PixelMap, about: int = GROUPS) -> NDArray[np.int64]:
    """Return the first pixel of each group: neighbours on one edge, about as many in each."""
    edge, line = pixels.edge, pixels.line
    new = np.ones(len(pixels), bool)
    new[1:] = (edge[1:] != edge[:-1]) | (line[1:] != line[:-1])
    starts = np.flatnonzero(new)
    run = np.arange(len(pixels)) - np.repeat(starts, np.diff([*starts, len(pixels)]))
    size = -(-len(pixels) // about)
    found = np.flatnonzero(run % size == 0)
    while len(found) > MOST:
        size += max(1, size // 8)
        found = np.flatnonzero(run % size == 0)
        if len(starts) > MOST:  # more edges than groups: neighbours share one
            found = np.arange(0, len(pixels), -(-len(pixels) // MOST))
    return found
