"""The seam of a loop: the step from its last frame to its first, compared with other steps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypedDict

import numpy as np

from lumenmap.frames.plan import Plan
from lumenmap.frames.render import render_block

#: A step this many times the usual one shows as a jump (common practice, no source).
_VISIBLE = 3.0
#: Smaller steps don't show at all.
_ONE_CODE = 1 / 255


class SeamReport(TypedDict):
    """The step from the loop's last frame to its first, against the usual one (light, 0..1)."""

    step: float
    usual: float
    seen: bool
    dark: bool
    text: str


@dataclass(frozen=True, slots=True)
class Seam:
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
        return (
            f"the loop's seam shows: its last step is {min(ratio, 9999):.0f} times the usual one; "
            'write cross = "2 s" in [show] to hide it'
        )


def seam(plan: Plan, *, samples: int = 24) -> Seam:
    """Measure a show's seam against steps at ``samples`` moments spread over it."""
    frames = plan.show.frames
    if frames < 2:
        return Seam(0.0, 0.0)
    last, first = render_block(plan, frames - 1, frames), render_block(plan, 0, 1)
    moments = np.unique(np.linspace(0, frames - 2, samples).astype(int))
    steps = [_change(render_block(plan, i, i + 2)) for i in moments.tolist()]
    step = float(np.abs(first - last).mean(dtype=np.float64))
    dark = max(float(first.max()), float(last.max())) < _ONE_CODE / 2
    return Seam(step, float(np.median(steps)), dark)


def _change(pair: np.ndarray[tuple[int, ...], np.dtype[np.float32]]) -> float:
    return float(np.abs(pair[1] - pair[0]).mean(dtype=np.float64))
