"""Caps: the sums of codes that no frame may go over, as ``frames.json`` carries them.

For each budget the codes of all pixels are added up, each times its channel's weight and the share
of its pixel's current that the budget carries (in 4096ths). Everything is a whole number, so a
small controller adds up the very same sums.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from lumenmap.controller.files.frameset import FrameSet
from lumenmap.core.errors import CheckError, InputError
from lumenmap.core.toml.tables import Table, check

#: Caps that the decoder has room for.
MOST_CAPS = 16
#: Channel weights that had to be rounded are rounded up, by less than this share.
_ROUNDING = 1e-4
_CHUNK = 1 << 20


class Zone(Table):
    """A stretch of pixels, and its share in each cap, in 4096ths."""

    pixels: int = Field(ge=1, le=65535)
    share: list[int]


class Caps(Table):
    """What `lumenmap.power.limits.caps` writes.

    Attributes
    ----------
    names, limits
        (K,) what each budget is called, and the most that its sum may be.
    weights
        (lines, C) what a code counts for, in each line's wire order.
    zones
        All pixels in wiring order.
    """

    names: list[str] = Field(default=[], max_length=MOST_CAPS)
    limits: list[int] = Field(default=[], max_length=MOST_CAPS)
    weights: list[list[int]] = Field(default=[])
    zones: list[Zone] = Field(default=[])

    def sums(self, frames: FrameSet) -> NDArray[np.int64]:
        """Return each frame's sum for each cap, (T, K)."""
        count, _, channels = frames.codes.shape
        per_pixel = np.zeros((frames.codes.shape[1], channels), np.int64)
        for line, weight in zip(frames.lines, self.weights, strict=True):
            per_pixel[line.first : line.first + line.count] = weight
        share = np.repeat(
            np.array([z.share for z in self.zones], np.int64).reshape(len(self.zones), -1),
            [z.pixels for z in self.zones],
            axis=0,
        )
        counted = (per_pixel[:, :, None] * share[:, None, :]).reshape(-1, len(self.limits))
        out = np.zeros((count, len(self.limits)), np.int64)
        step = max(1, _CHUNK // len(counted))
        for i in range(0, count, step):
            # Whole numbers below 2**53: floating point adds them up exactly, and much faster.
            block = frames.codes[i : i + step].reshape(-1, len(counted)).astype(np.float64)
            out[i : i + step] = np.rint(block @ counted.astype(np.float64))
        return out


def caps_of(frames: FrameSet) -> Caps:
    """Return the caps that a set of frames carries, none if it says nothing about them.

    Raises
    ------
    InputError
        They contradict the frames.
    CheckError
        The frames themselves are over one.
    """
    caps = check(Caps, frames.meta.get("caps") or {}, "frames.json", {})
    if not caps.limits:
        return Caps(weights=[[1] * frames.channels] * len(frames.lines))
    _agree(caps, frames)
    peak = caps.sums(frames).max(axis=0, initial=0)
    limits = []
    for name, most, drawn in zip(caps.names, caps.limits, peak.tolist(), strict=True):
        if drawn > most * (1 + _ROUNDING) + 1:
            raise CheckError(
                f'frames.json: the frames\' codes add up to {drawn} for "{name}", over its cap of '
                f"{most}; export the show again"
            )
        limits.append(max(most, drawn))  # over by the weights' own rounding only
    return caps.model_copy(update={"limits": limits})


def _agree(caps: Caps, frames: FrameSet) -> None:
    def wrong(text: str) -> InputError:
        return InputError(text, file="frames.json", key="caps")

    count, channels, budgets = frames.codes.shape[1], frames.channels, len(caps.limits)
    if len(caps.names) != budgets:
        raise wrong(f"has {len(caps.names)} names and {budgets} limits; expected one of each")
    if len(caps.weights) != len(frames.lines) or any(len(w) != channels for w in caps.weights):
        raise wrong(f"expected weights for {len(frames.lines)} lines of {channels} channels")
    if (pixels := sum(z.pixels for z in caps.zones)) != count:
        raise wrong(f"zones have {pixels} pixels in all; expected {count}")
    if any(len(z.share) != budgets for z in caps.zones):
        raise wrong(f"expected {budgets} shares in each zone")
    numbers = [x for w in caps.weights for x in w] + [x for z in caps.zones for x in z.share]
    if min(numbers) < 0 or max(numbers) > 65535 or not all(0 <= x < 1 << 63 for x in caps.limits):
        raise wrong("weights and shares are 0 to 65535, limits 0 to 2^63 - 1")
