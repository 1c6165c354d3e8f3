"""Loss by choice: codes that are almost the same as the frame before are left as they were."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from lumenmap.controller.frameset import FrameSet
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
    """Let each code be up to ``steps`` darker where that keeps it as it was a frame earlier.

    Never brighter: power only falls, so no budget that held is broken. A pixel is kept only if all
    of its channels can be; where it must change, the true codes are taken going up, and the darkest
    that are allowed going down, so that they stay for longer. A lit channel is not put out.

    Raises
    ------
    InputError
        ``steps`` outside 0 to 32.
    """
    if not 0 <= steps <= MOST:
        raise InputError(f"option loss is {steps}; 0 to {MOST} code steps are wanted")
    if not steps:
        return frames, Loss(0, 0.0, 0.0)
    true = frames.codes.astype(np.int16)
    lowest = np.where(true > 0, np.maximum(true - steps, 1), 0)
    out = np.empty_like(true)
    out[0] = shown = true[0]
    for t in range(1, len(true)):
        keep = ((shown <= true[t]) & (shown >= lowest[t])).all(axis=1, keepdims=True)
        falling = true[t] < shown
        shown = np.where(keep, shown, np.where(falling, lowest[t], true[t]))
        out[t] = shown
    off = true - out
    lost = Loss(int(off.max()), float(off.mean()), float((off > 0).mean()))
    return replace(frames, codes=out.astype(np.uint8), sha256=""), lost
