"""Cross-fading from one light to another, in place."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def mix(
    before: NDArray[np.float32], after: NDArray[np.float32], part: NDArray[np.floating]
) -> NDArray[np.float32]:
    """Change ``before`` (..., 3) into ``after`` (..., 3) by ``part`` (...) 0..1, and return it."""
    share = np.asarray(part, np.float32)
    for channel in range(3):
        plane = before[..., channel]
        step = after[..., channel] - plane
        step *= share
        plane += step
    return before
