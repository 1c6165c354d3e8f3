"""The light of a pixel kind: the colours of its dies, and how channel light looks."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.white import ALIKE, join_white
from lumenmap.colour.dies import Dies
from lumenmap.parts.kind import PixelKind

Light = NDArray[np.float32]


@lru_cache(maxsize=16)  # what follows from them is asked for with every block of light
def dies_of(kind: PixelKind) -> Dies:
    """Return the dies of a pixel kind."""
    return Dies(kind.dominant_nm, kind.intensity, kind.white_kelvin, kind.white_intensity)


def white_of(kind: PixelKind) -> NDArray[np.float64]:
    """Return (3,) the light of a kind's white die; of one that looks as all three without it."""
    own = dies_of(kind).white_die
    return np.array(ALIKE) if own is None else own


def as_seen(light: Light, kind: PixelKind) -> Light:
    """Return what channel light (T, N, 3 or 4) looks like: linear sRGB (T, N, 3), not below 0.

    The whitest light of the three coloured dies is 1, 1, 1; what is brighter is above.
    """
    mixed = join_white(light, white_of(kind)) if kind.channels == 4 else light
    screen = dies_of(kind).screen.astype(np.float32)
    seen = np.empty(mixed.shape, np.float32)
    # Term by term, so that the same light looks the same in a block of any size.
    for row, out in zip(screen, np.moveaxis(seen, -1, 0), strict=True):
        np.multiply(mixed[..., 0], row[0], out=out)
        out += mixed[..., 1] * row[1]
        out += mixed[..., 2] * row[2]
    return np.maximum(seen, 0, out=seen)
