"""Loss by choice: codes that are almost the same as the frame before are left as they were."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from lumenmap.controller.files.frameset import FrameSet
from lumenmap.core.errors import InputError

#: 32 steps of 255 are seen by anyone; more is a slip of the pen.
MOST = 32


@dataclass(frozen=True, slots=True)
class Loss:
    """How far the codes are from the true ones: steps of 255, most and mean; share that differ."""

    most: int
    mean: float
    changed: float

    def __str__(self) -> str:
        if not self.most:
            return "lossless"
        return (
            f"at most {self.most} code steps darker, {self.mean:.2f} on average; "
            f"{100 * self.changed:.0f} % of the codes differ"
        )


def darken(frames: FrameSet, steps: int) -> tuple[FrameSet, Loss]:
    """Let each code be up to ``steps`` darker where that lets its pixel stay as it is for longer.

    Strategy: a pixel stays for as long as there is a colour that is allowed in all of those frames,
    and then is the brightest such colour. Never brighter than true: power only falls, so no budget
    that held is broken. A lit channel is not put out.

    Raises
    ------
    InputError
        ``steps`` outside 0 to 32.
    """
    if not 0 <= steps <= MOST:
        raise InputError(f"option loss is {steps}; expected 0 to {MOST} code steps")
    if not steps:
        return frames, Loss(0, 0.0, 0.0)
    true = frames.codes.astype(np.int16)
    lowest = np.where(true > 0, np.maximum(true - steps, 1), 0).astype(np.int16)
    # What each pixel may be, given all frames since it last changed.
    high, low = true.copy(), lowest[0]
    starts = np.ones((*true.shape[:2], 1), bool)
    for t in range(1, len(true)):
        both_high, both_low = np.minimum(high[t - 1], true[t]), np.maximum(low, lowest[t])
        starts[t] = (both_high < both_low).any(axis=1, keepdims=True)
        high[t] = np.where(starts[t], true[t], both_high)
        low = np.where(starts[t], lowest[t], both_low)
    out = high
    for t in range(len(true) - 2, -1, -1):
        out[t] = np.where(starts[t + 1], high[t], out[t + 1])
    off = true - out
    lost = Loss(int(off.max()), float(off.mean()), float((off > 0).mean()))
    return replace(frames, codes=out.astype(np.uint8), sha256=""), lost
