"""Four-channel pixels: as much light as possible from the white die, the rest from the others.

Light is that of red, green and blue dies. The white die's own light, worked out in CIE X, Y, Z, is
also some of each of them (`lumenmap.colour.dies.Dies.white_die`), so that the most white is what
leaves none of them below zero.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

#: A white die that looks as red, green and blue together.
ALIKE = (1.0, 1.0, 1.0)


def split_white(light: NDArray[np.float32], white: ArrayLike = ALIKE) -> NDArray[np.float32]:
    """Return (T, N, 4) R, G, B, W light that looks as (T, N, 3).

    Parameters
    ----------
    white
        (3,) light of red, green and blue that looks as the white die at full.
    """
    own = np.asarray(white, np.float32)
    out = np.empty((*light.shape[:2], 4), np.float32)
    level = np.ones(light.shape[:2], np.float32)
    for channel in np.flatnonzero(own > 0).tolist():
        np.minimum(level, light[..., channel] / own[channel], out=level)
    # What the white die lacks of a channel must not ask for more than all of that channel.
    for channel in np.flatnonzero(own < 0).tolist():
        np.minimum(level, (light[..., channel] - 1) / own[channel], out=level)
    for channel in range(3):
        np.subtract(light[..., channel], level * own[channel], out=out[..., channel])
    np.maximum(out, 0, out=out)
    out[..., 3] = level
    return out


def join_white(light: NDArray[np.float32], white: ArrayLike = ALIKE) -> NDArray[np.float32]:
    """Return light as seen (T, N, 3) of channel light (T, N, 3 or 4): `split_white` undone.

    It is above 1 where a pixel's white comes on top of its full colours.
    """
    if light.shape[2] == 3:
        return light
    joined: NDArray[np.float32] = light[..., :3] + light[..., 3:] * np.asarray(white, np.float32)
    return joined
