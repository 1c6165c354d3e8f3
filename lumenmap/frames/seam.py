"""The seam of a loop: the step from its last frame to its first, compared with other steps."""

from __future__ import annotations

import statistics
from typing import NamedTuple, TypedDict

import numpy as np
from numpy.typing import NDArray

Codes = NDArray[np.uint8]

#: A step this many times the usual one shows as a jump (common practice, no source).
_VISIBLE = 3.0
#: Smaller steps don't show at all.
_ONE_CODE = 1 / 255


#: Above so many times the usual step nobody compares: where most of a show stands still, the usual
#: step is next to nothing.
_JUMP = 100


class SeamReport(TypedDict):
    """The step from the loop's last frame to its first, against the usual one (light, 0..1)."""

    step: float
    usual: float
    seen: bool
    dark: bool
    text: str


class Seam(NamedTuple):
    """Mean change of light from one frame to the next: at the seam, and usually; 0..1.

    ``dark``: no pixel is lit in the loop's first and last frame.
    """

    step: float
    usual: float
    dark: bool = False

    @property
    def seen(self) -> bool:
        """Whether the seam shows."""
        return self.step > max(_VISIBLE * self.usual, _ONE_CODE)

    def report(self) -> SeamReport:
        """Return the figures for ``report.json``."""
        return {
            "step": self.step,
            "usual": self.usual,
            "seen": self.seen,
            "dark": self.dark,
            "text": self.text(),
        }

    def text(self) -> str:
        """Return it in a line."""
        ratio = self.step / max(self.usual, 1e-9)
        if self.dark:
            return "the loop starts and ends dark"
        if not self.seen:
            return "the loop is seamless"
        much = "a jump" if ratio > _JUMP else f"{ratio:.0f} times the usual one"
        hide = 'write cross = "2 s" in [show] to hide it'
        return f"the loop's seam shows: its last step is {much}; {hide}"


class SeamCounter:
    """Measures a loop's seam as its frames stream by; memory does not grow with the show.

    Parameters
    ----------
    frames
        Of the whole show.
    samples
        At so many moments, spread over the show, the step to the next frame is taken as usual.
    """

    def __init__(self, frames: int, samples: int = 24) -> None:
        moments = np.linspace(0, max(0, frames - 2), samples).astype(int)
        self._moments = np.array(sorted(set(moments.tolist())))
        self._seen = 0
        self._first: Codes | None = None
        self._last: Codes | None = None
        self._steps: list[float] = []

    def add(self, codes: Codes) -> None:
        """Take in the next block of the show, (T, N, C)."""
        if not len(codes):
            return
        if self._last is None:
            self._first = codes[0].copy()
        else:
            codes = np.concatenate([self._last[None], codes])
        begin = self._seen - (self._last is not None)
        low, high = np.searchsorted(self._moments, (begin, begin + len(codes) - 1))
        for k in (self._moments[low:high] - begin).tolist():
            self._steps.append(_change(codes[k], codes[k + 1]))
        self._seen = begin + len(codes)
        self._last = codes[-1].copy()

    def seam(self) -> Seam:
        """Return the seam of the frames taken in."""
        if self._first is None or self._last is None or self._seen < 2:
            return Seam(0.0, 0.0)
        dark = not self._first.any() and not self._last.any()
        return Seam(_change(self._last, self._first), statistics.median(self._steps), dark)


def _change(before: Codes, after: Codes) -> float:
    """Return the mean change of light from one frame (N, C) to another, 0..1."""
    return float(np.abs(after.astype(np.int16) - before).mean() / 255)
