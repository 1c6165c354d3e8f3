"""Codes in the order that each line's wire carries them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Codes = NDArray[np.uint8]


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
