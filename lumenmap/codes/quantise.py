"""Light to codes: 8 bits a channel, linear, in the order each line's wire carries them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Codes = NDArray[np.uint8]
FULL = 255


def quantise(light: NDArray[np.float32], out: Codes | None = None) -> Codes:
    """Return the nearest codes of linear light.

    Parameters
    ----------
    light
        (T, N, C) float32, 0..1 of each channel's full output; values outside are clipped. LED duty
        is linear in light, so the codes are too.

    Returns
    -------
    (T, N, C) uint8
    """
    scaled = np.clip(light, 0.0, 1.0)
    scaled *= np.float32(FULL)
    scaled += np.float32(0.5)
    if out is None:
        return scaled.astype(np.uint8)
    np.copyto(out, scaled, casting="unsafe")
    return out


def channel_places(order: str) -> list[int]:
    """Return, for each channel on the wire, its place in canonical R, G, B(, W).

    >>> channel_places("GRB")
    [1, 0, 2]
    """
    return ["RGBW".index(letter) for letter in order]


def to_wire(codes: Codes, spans: Sequence[tuple[slice, str]]) -> Codes:
    """Reorder canonical codes (T, N, C) to each line's channel order; lines whole, in place order.

    ``spans`` holds each line's rows of the N axis and its order.
    """
    canonical = "RGBW"[: codes.shape[2]]
    if all(order == canonical for _, order in spans):
        return codes
    wired = np.empty_like(codes)
    for rows, order in spans:
        wired[:, rows] = codes[:, rows][:, :, channel_places(order)]
    return wired
