"""How a lamp (a pixel of the house) shines: its beam, and its image in the camera."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]


class Lamps(NamedTuple):
    """L lamps: position (L, 3) m, direction (L, 3) unit vectors, and 1 or 0 if they're spares."""

    xyz: F32
    facing: F32
    lit: F32


#: Relative intensity of a clear 12 mm dome in a drilled hole at 90° from straight ahead, and the
#: cosine beyond which the rail hides it (common practice, no source).
SIDEWAYS = 0.25
BEHIND = -0.5
#: Glare around a lamp: brightness relative to its core, and width in core radii.
VEIL, VEIL_WIDTH = 0.13, 2.2


def beam(cosine: F32) -> F32:
    """Return intensity relative to straight ahead, from the cosine of the angle to it."""
    ahead = SIDEWAYS + (1 - SIDEWAYS) * cosine
    back = SIDEWAYS * (1 - cosine / np.float32(BEHIND))
    return np.asarray(np.maximum(np.where(cosine >= 0, ahead, back), 0), np.float32)


def point_spread(offsets: F32, core: float, reach: float) -> F32:
    """Return a lamp's image at (…, 2) offsets in pixels of the picture; its peak is near 1.

    A Gaussian core (the lens) plus faint glare (of lens and eye) that falls with the cube of the
    distance and is cut to 0 at ``reach``.
    """
    square = (offsets**2).sum(-1)
    sharp = np.exp(-square / (2 * core**2))
    wide = VEIL_WIDTH * core
    veil = (1 + square / wide**2) ** -1.5
    cut = (1 + reach**2 / wide**2) ** -1.5
    return np.asarray(sharp + VEIL * np.maximum(veil - cut, 0), np.float32)
