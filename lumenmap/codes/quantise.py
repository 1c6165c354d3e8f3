"""Light to codes: 8 bits a channel, linear, in the order each line's wire carries them."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Codes = NDArray[np.uint8]
FULL = 255
#: Pixel-frames quantised at once: their floats stay in the processor's cache between the passes.
_PART = 64_000
_FULL_BITS = np.float32(FULL).view(np.uint32)
#: Where the lowest byte of a float32 lies.
_LOWEST = 0 if sys.byteorder == "little" else 3


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
    whole = _whole(light)
    out = np.empty(light.shape, np.uint8) if out is None else out
    frames, pixels, channels = light.shape
    step = max(1, _PART // max(1, frames))
    for first in range(0, pixels, step):
        _part(whole[:, first : first + step], out[:, first : first + step], channels)
    return out


def _part(light: NDArray[np.float32], out: Codes, channels: int) -> None:
    """Quantise what fits the cache; ``light`` may be padded beyond ``channels``."""
    scaled = np.multiply(light, np.float32(FULL), dtype=np.float32)
    # As bits, floats from 0 to 255 come first in order: one look finds what lies outside.
    if scaled.size and scaled.view(np.uint32).max() > _FULL_BITS:
        np.clip(scaled, 0, FULL, out=scaled)
    # Adding 2**23 leaves the nearest whole number in the lowest byte.
    scaled += np.float32(2**23)
    lowest = scaled.view(np.uint8)[..., _LOWEST::4]
    for channel in range(channels):  # whole planes copy quicker than runs of three
        out[..., channel] = lowest[..., channel]


def _whole(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the padded array that (T, N, 3) light is a view of, if it is: it is contiguous."""
    base = light.base
    if (
        isinstance(base, np.ndarray)
        and base.dtype == light.dtype
        and base.shape == (*light.shape[:2], 4)
        and base.flags.c_contiguous
        and base.__array_interface__["data"][0] == light.__array_interface__["data"][0]
    ):
        return base
    return light


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
