"""The exposure of a picture: as bright as lit faces can be and keep their colours."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]

#: The exposure brings this share (`BRIGHT`) of the lit faces below `AIM`, within `RANGE`.
AIM, BRIGHT, RANGE = 0.32, 0.93, (0.6, 1.6)
#: Fainter faces aren't lit.
_LIT = 0.004


def exposure(peak: F32, area: F32) -> float | None:
    """Return the exposure for faces that are this bright, None if none is lit.

    Parameters
    ----------
    peak
        (P,) the brightest light at each mesh node.
    area
        (P,) pixels of the picture that it counts for.
    """
    order = np.argsort(peak)
    share = np.cumsum((area * (peak > _LIT))[order])
    if share[-1] <= 0:
        return None
    bright = float(peak[order][np.searchsorted(share, BRIGHT * share[-1])])
    return float(np.clip(AIM / max(bright, 1e-6), *RANGE))
