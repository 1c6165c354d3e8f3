"""Four-channel pixels: the white that red, green and blue share goes to the white die, and back.

The white die is assumed to give the light of the three coloured ones together at the same code.
Real ones differ by maker and colour temperature; only a measurement could tell how.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def split_white(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return (T, N, 4) R, G, B, W light of (T, N, 3): the common part moves to white."""
    out = np.empty((*light.shape[:2], 4), np.float32)
    white = light.min(axis=2)
    np.subtract(light, white[..., None], out=out[..., :3])
    out[..., 3] = white
    return out


def join_white(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return (T, N, 3) light as seen of (T, N, 3 or 4) channel light: white adds to all three."""
    if light.shape[2] == 3:
        return light
    joined: NDArray[np.float32] = np.minimum(light[..., :3] + light[..., 3:], 1)
    return joined
