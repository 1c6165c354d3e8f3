"""`Seen`: the holes of a house as a camera sees them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.lens.shot import Shot
from lumenmap.pixels.pixelmap import PixelMap

F = NDArray[np.float64]

#: Rails may hang so far from where the model has them, across the rail (m) [C].
ACROSS = 0.25
#: Least and most distance along the rail that counts as a whole hole (pixels).
ALONG = (2.0, 12.0)


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """The holes as a camera sees them.

    Attributes
    ----------
    places
        (N, 2) pixels.
    along
        (N, 2) unit vectors along the rail in the picture.
    spacing
        (N,) from hole to hole in the picture, pixels.
    across
        (N,) how far across the rail a pixel may be seen, pixels.
    usable
        (N,) whether it is a hole in front of the camera.
    """

    places: F
    along: F
    spacing: F
    across: F
    usable: NDArray[np.bool_]


def seen_by(shot: Shot, lamps: F, pixels: PixelMap) -> Seen:
    """Return the holes of a house as a camera sees them; ``lamps`` (N, 3) m."""
    places, depth = shot.project(lamps)
    usable = (depth > 0.5) & (pixels.edge >= 0)
    ahead = np.roll(places, -1, axis=0) - places
    same = (np.roll(pixels.edge, -1) == pixels.edge) & (np.roll(pixels.line, -1) == pixels.line)
    same[-1] = False
    way = np.where(same[:, None], ahead, np.roll(ahead, 1, axis=0))
    size = np.linalg.norm(way, axis=1)
    along = way / np.maximum(size, 1e-9)[:, None]
    across = np.maximum(6.0, ACROSS * shot.focal / np.maximum(depth, 0.5))
    return Seen(places, along, np.clip(size, *ALONG), across, usable)
