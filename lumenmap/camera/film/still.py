"""`Still`: frames of a hand-held film moved onto one of them, by what stands still in them.

Enhanced correlation (Evangelidis and Psarakis, "Parametric image alignment using enhanced
correlation coefficient maximization", 2008 [P], as OpenCV has it) of an affine map: a hand shifts
and turns the picture, and a lens that hunts for focus makes it a hundredth larger or smaller, which
is 6 px at the rim. Each frame starts from the answer of the last. It is done on smaller frames,
whose brightness is taken relative to its surroundings: else the light that moves over the house
would pull frames along.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.extra import opencv

F32 = NDArray[np.float32]

#: Brightness is clipped here (codes of 255): lamps and lit windows look the same then.
CLIP = 110
#: Small frames are about so wide, and their blur (pixels).
WIDE, BLUR = 640, 1.0
#: Surroundings are so large (pixels of small frames), and differences from them that are noise
#: (codes).
AROUND, NOISE = 6.0, 2.0
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
        self._times = max(1, round(reference.shape[1] / WIDE))
        self._small = self._prepared(reference)
        # Else the frame's rim, which stands still, is what fits best.
        h, w = self._small.shape
        self._window = self._cv.createHanningWindow((w, h), self._cv.CV_32F)
        self._last: F32 = np.eye(2, 3, dtype=np.float32)
        self.lost = 0

    def _prepared(self, bright: NDArray[np.uint8]) -> Any:
        cv = self._cv
        part = 1 / self._times
        clipped = np.minimum(bright, CLIP)
        small = cv.resize(clipped, None, fx=part, fy=part, interpolation=cv.INTER_AREA)
        soft = cv.GaussianBlur(small.astype(np.float32), (0, 0), BLUR)
        apart = soft - cv.GaussianBlur(soft, (0, 0), AROUND)
        usual = cv.sqrt(cv.GaussianBlur(apart * apart, (0, 0), AROUND))
        # What the correlation would blur again in each call; the reference is blurred once.
        return cv.GaussianBlur(apart / (usual + NOISE), (5, 5), 0)

    def move(self, bright: NDArray[np.uint8], *, lit: bool = True) -> F32 | None:  # noqa: ARG002
        """Return the (2, 3) map from the reference's pixels to a frame's, or None if it is lost.

        Whether any pixel is ``lit`` makes no difference.
        """
        small = self._prepared(bright)
        like, found = self._near(small, self._last)
        if like < LEAST:  # the hand jerked: from the shift that fits best of all
            (x, y), _ = self._cv.phaseCorrelate(self._small, small, self._window)
            like, found = self._near(small, np.array([[1, 0, x], [0, 1, y]], np.float32))
        if like < LEAST:
            self.lost += 1
            return None
        self._last = found
        whole: F32 = found.copy()
        # A small pixel's middle isn't at a multiple of its size: (x + 0.5) / times - 0.5.
        rim = (self._times - 1) / 2
        whole[:, 2] = (
            self._times * found[:, 2] + rim - found[:, :2] @ np.array([rim, rim], np.float32)
        )
        return whole

    def _near(self, small: Any, start: F32) -> tuple[float, F32]:
        """Return how well a small frame fits the reference near a start, and where it fits best."""
        cv = self._cv
        ends = (cv.TERM_CRITERIA_EPS | cv.TERM_CRITERIA_COUNT, STEPS, ENOUGH)
        way = cv.MOTION_AFFINE
        try:
            like, found = cv.findTransformECC(self._small, small, start.copy(), way, ends, None, 1)
        except cv.error:  # it didn't converge
            return 0.0, start
        return float(like), np.asarray(found, np.float32)


def moved_onto(frame: NDArray[Any], move: F32) -> NDArray[Any]:
    """Return a frame (H, W, …) moved by a map (2, 3) from a reference's pixels to its own."""
    cv = opencv()
    h, w = frame.shape[:2]
    moved: NDArray[Any] = cv.warpAffine(
        frame,
        move,
        (w, h),
        flags=cv.INTER_LINEAR | cv.WARP_INVERSE_MAP,
        borderMode=cv.BORDER_REPLICATE,
    )
    return moved
