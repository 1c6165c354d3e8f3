"""The seam of a loop: how much larger the step from its last frame to its first is than others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypedDict

import numpy as np

from lumenmap.frames.plan import Plan
from lumenmap.frames.render import render_block

#: A step that is this many times the usual one is seen as a jump (common practice, no source).
_SEEN = 3.0
#: Steps of under one code are not seen at all.
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
    """Mean change of light from one frame to the next: at the seam, and the usual one; 0..1.

    ``dark`` says that no pixel is lit in the loop's first and last frame.
    """

    step: float
    usual: float
    dark: bool = False

    @property
    def seen(self) -> bool:
        """Whether the loop can be seen to start again."""
        return self.step > max(_SEEN * self.usual, _ONE_CODE)

    def report(self) -> SeamReport:
        """Return what report.json holds."""
        return {
            "step": self.step,
            "usual": self.usual,
            "seen": self.seen,
            "dark": self.dark,
            "text": self.text(),
        }

    def text(self) -> str:
        """Say it in a line."""
        ratio = self.step / max(self.usual, 1e-9)
        if self.dark:
            return "dark at both of the loop's ends"
        if not self.seen:
            return "the loop has no seam to be seen"
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
