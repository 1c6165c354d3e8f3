"""How a pixel shines: its beam, and its image in the camera."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]

#: A clear 12 mm dome in a drilled hole: full ahead, this much sideways, nothing behind the rail.
#: Common practice, no source; measured beams may be given instead.
SIDEWAYS = 0.25
BEHIND = -0.5
#: Brightness of the veil round a lamp, as a part of its core's, and its width in cores.
VEIL, VEIL_WIDTH = 0.13, 2.2


def beam(cosine: F32) -> F32:
    """Return intensity relative to straight ahead, by the cosine of the angle from the facing."""
    ahead = SIDEWAYS + (1 - SIDEWAYS) * cosine
    back = SIDEWAYS * (1 - cosine / np.float32(BEHIND))
    return np.asarray(np.maximum(np.where(cosine >= 0, ahead, back), 0), np.float32)


def point_spread(offsets: F32, core: float, reach: float) -> F32:
    """Return a lamp's image at (…, 2) offsets in picture elements; the core's peak is near 1.

    A Gaussian core (the lens) plus a faint veil that falls with the cube of the distance (the
    glare of eye and lens), cut to 0 at ``reach``.
    """
    square = (offsets**2).sum(-1)
    sharp = np.exp(-square / (2 * core**2))
    wide = VEIL_WIDTH * core
    veil = (1 + square / wide**2) ** -1.5
    edge = (1 + reach**2 / wide**2) ** -1.5
    return np.asarray(sharp + VEIL * np.maximum(veil - edge, 0), np.float32)
