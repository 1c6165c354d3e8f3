"""Slow fades in the dark: where single steps of one code will be seen, dithered or not.

A pixel at code 4 has nothing between 4 and 5, which is a quarter more light. In a quick fade nobody
sees the step; in a slow one each pixel waits, and jumps. Spreading the jumps over neighbours keeps
the mean smooth, but somebody who looks at one pixel sees it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.dither import turn_frames

Codes = NDArray[np.uint8]

#: A step of one code from here on is below a tenth of the light (common practice, no source).
DIM = 10
#: A level that is held this long before and after a step is seen as a level (s, chosen by eye).
HELD_SECONDS = 1.0
#: So many steps the same way are a fade.
STEPS = 3
#: This part of the pixels must step for a note; a twinkle here and there is no fade.
PART = 0.1
#: Frames that are looked at, a second.
_LOOKS = 10.0


class StepCounter:
    """Finds stepping fades in codes as they stream; memory doesn't grow with the show."""

    def __init__(self, fps: float) -> None:
        turns = turn_frames(fps)
        # Whole turns of the dither apart, so that its beat isn't taken for a change.
        self._every = turns * max(1, round(fps / _LOOKS / turns))
        self._fps, self._dim = fps, DIM / turns
        self._hold = HELD_SECONDS * fps / self._every
        self._seen = 0
        self._last: Codes | None = None
        self.first: float | None = None
        self.end = 0.0

    def add(self, codes: Codes) -> None:
        """Take in the next block (T, N, C)."""
        for k in range(-self._seen % self._every, len(codes), self._every):
            self._look(codes[k], (self._seen + k) / self._fps)
        self._seen += len(codes)

    def _look(self, now: Codes, at: float) -> None:
        if self._last is None:
            self._held = np.zeros(now.shape, np.float32)
            self._run = np.zeros(now.shape, np.int8)  # slow single steps so far, down below 0
            self._recent = np.full(now.shape[0], -np.inf)
            self._last = now.copy()
            return
        self._held += 1
        change = now.astype(np.int16) - self._last
        moved = change != 0
        if moved.any():
            slow = (np.abs(change) == 1) & (self._held >= self._hold)
            slow &= np.minimum(now, self._last) < self._dim
            run = np.zeros_like(change)
            if slow.any():  # seldom, and what follows takes as long as all before it
                further = np.where(self._run * change > 0, self._run, 0) + change
                run = np.where(slow, np.clip(further, -STEPS, STEPS), 0)
            np.copyto(self._run, run, where=moved)
            long = np.abs(self._run) >= STEPS
            if long.any():
                self._recent[long.any(axis=1)] = at
            np.copyto(self._held, 0, where=moved)
            np.copyto(self._last, now)
            lately = np.count_nonzero(self._recent > at - 5 * HELD_SECONDS)
            if lately / len(self._recent) >= PART:
                self.first = at if self.first is None else self.first
                self.end = at

    def note(self) -> str:
        """Return a sentence about what was found, or nothing."""
        if self.first is None:
            return ""
        return (
            f"from {self.first:.0f} to {self.end:.0f} s dim light changes so slowly that each "
            f"pixel is seen to step: below {DIM} of 255 one step is over a tenth of its light. "
            "A shorter fade, or one between brighter levels, looks smooth"
        )
