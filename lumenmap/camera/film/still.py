"""`Still`: frames of a hand-held film moved onto one of them, by what stands still in them.

Enhanced correlation (Evangelidis and Psarakis, "Parametric image alignment using enhanced
correlation coefficient maximization", 2008 [P], as OpenCV has it) of a shift and a small turn. It
is done on frames a quarter as large, clipped, so that lamps and windows don't outweigh the house's
outline; each frame starts from the answer of the last.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.extra import opencv

F32 = NDArray[np.float32]

#: Brightness is clipped here (codes of 255): lamps and lit windows look the same then.
CLIP = 60
#: How much smaller frames are made, and the blur of the small ones (pixels).
SMALLER, BLUR = 4, 1.0
#: Steps, and the change of correlation that ends them.
STEPS, ENOUGH = 30, 1e-4
#: Frames that correlate less aren't used: somebody walks by, or the phone was put down.
LEAST = 0.6


class Still:
    """Moves frames onto a reference frame.

    Parameters
    ----------
    reference
        (H, W) uint8.
    """

    def __init__(self, reference: NDArray[np.uint8]) -> None:
        self._cv = opencv()
        self._small = self._prepared(reference)
        self._last: F32 = np.eye(2, 3, dtype=np.float32)
        self.lost = 0

    def _prepared(self, bright: NDArray[np.uint8]) -> Any:
        cv = self._cv
        clipped = np.minimum(bright, CLIP)
        part = 1 / SMALLER
        small = cv.resize(clipped, None, fx=part, fy=part, interpolation=cv.INTER_AREA)
        return cv.GaussianBlur(small.astype(np.float32), (0, 0), BLUR)

    def move(self, bright: NDArray[np.uint8]) -> F32 | None:
        """Return the (2, 3) map from the reference's pixels to a frame's, or None if it is lost."""
        cv = self._cv
        ends = (cv.TERM_CRITERIA_EPS | cv.TERM_CRITERIA_COUNT, STEPS, ENOUGH)
        try:
            like, found = cv.findTransformECC(
                self._small,
                self._prepared(bright),
                self._last.copy(),
                cv.MOTION_EUCLIDEAN,
                ends,
                None,
                5,
            )
        except cv.error:  # it didn't converge
            like, found = 0.0, self._last
        if like < LEAST:
            self.lost += 1
            self._last = np.eye(2, 3, dtype=np.float32)
            return None
        self._last = found
        whole: F32 = found.copy()
        # A small pixel's middle isn't at a multiple of its size: (x + 0.5) / 4 - 0.5.
        rim = (SMALLER - 1) / 2
        whole[:, 2] = SMALLER * found[:, 2] + rim - found[:, :2] @ np.array([rim, rim], np.float32)
        return whole

    def onto(self, frame: NDArray[Any], move: F32) -> NDArray[Any]:
        """Return a frame (H, W, …) moved onto the reference."""
        cv = self._cv
        h, w = frame.shape[:2]
        moved: NDArray[Any] = cv.warpAffine(
            frame,
            move,
            (w, h),
            flags=cv.INTER_LINEAR | cv.WARP_INVERSE_MAP,
            borderMode=cv.BORDER_REPLICATE,
        )
        return moved
