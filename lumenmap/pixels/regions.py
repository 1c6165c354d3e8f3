"""Regions in which flashes are counted: the house as a whole, and each edge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pixels.pixelmap import PixelMap

#: Name of the region that holds every pixel.
WHOLE_HOUSE = "the whole house"


def flash_regions(pixelmap: PixelMap) -> dict[str, NDArray[np.intp]]:
    """Return the lit pixels (indices) of the house and of each edge, by name."""
    edges = {
        name: np.flatnonzero((pixelmap.edge == i) & pixelmap.lit)
        for i, name in enumerate(pixelmap.edge_names)
    }
    return {WHOLE_HOUSE: np.flatnonzero(pixelmap.lit), **edges}
