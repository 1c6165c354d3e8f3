"""The metal in the valleys, where two roofs cut each other."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.hull.faces import beside, meetings
from lumenmap.house.model import Face, House
from lumenmap.pictures.scene.surface import Colour, Surface, flat
from lumenmap.solids.outside import split
from lumenmap.solids.planes import normal

F = NDArray[np.float64]

#: Visible width of the metal on each side of an open valley (m): shingles end 3 in from its middle
#: (common practice, no source).
WIDTH = 0.075
#: How far it lies above the shingles (m), so that it is drawn in front of them.
ABOVE = 0.01
#: Linear reflectance of weathered zinc, by eye.
ZINC: Colour = (0.20, 0.21, 0.22)


def valleys(house: House) -> Iterator[Surface | None]:
    """Yield strips along the lines in which roofs of different masses cut each other."""
    for one, two, line in meetings(house):
        if one.kind == two.kind == "roof":
            for face, other in ((one, two), (two, one)):
                yield _strip(face, other, line)


def _strip(face: Face, other: Face, line: F) -> Surface | None:
    """Return the strip on a face, on the side where it is above the other roof."""
    across = beside(face, other, line)
    if across is None:
        return None
    up = normal(face.corners)
    strip = np.array([line[0], line[1], line[1] + WIDTH * across, line[0] + WIDTH * across])
    # Where it would reach beyond an eave, it is cut off along it.
    for a, b in zip(face.corners, np.roll(face.corners, -1, axis=0), strict=True):
        out = np.cross(b - a, up)
        strip, _ = split(strip, out, float(out @ a))
    lifted = strip + ABOVE * up
    return flat("trim", lifted, ZINC, f"{face.name} valley") if len(strip) > 2 else None
