"""Adding up what a show draws as it streams by: peak, mean, margin, capped frames."""

from __future__ import annotations

from typing import Any

import numpy as np

from lumenmap.power.budgets import Budgets
from lumenmap.power.limit import Limited


class Tally:
    """Running figures of a show for each budget; memory does not grow with its length.

    Parameters
    ----------
    budgets
        The budgets the show was limited to.
    fps
        Its rate, for the time of the worst frame.
    """

    def __init__(self, budgets: Budgets, fps: float) -> None:
        self.budgets, self.fps = budgets, fps
        count = len(budgets.names)
        self.frames = 0
        self.capped = 0
        self.least_gain = 1.0
        self.peak = np.zeros(count)
        self.worst = np.zeros(count, int)
        self.total = np.zeros(count)
        self.wanted = np.zeros(count)

    def add(self, block: Limited) -> None:
        """Take in the next block of the show."""
        amps = block.amps
        best = amps.argmax(axis=0)
        high = amps.max(axis=0)
        better = high > self.peak
        self.worst[better] = (best + self.frames)[better]
        self.peak = np.maximum(self.peak, high)
        self.wanted = np.maximum(self.wanted, block.wanted.max(axis=0))
        self.total += amps.sum(axis=0)
        gain = block.gain if block.gain.ndim == 1 else block.gain.min(axis=1)
        self.capped += int((gain < 1).sum())
        self.least_gain = min(self.least_gain, float(gain.min()))
        self.frames += len(amps)

    def report(self) -> dict[str, Any]:
        """Return the figures for ``report.json``: A, frames, s, and shares of 1."""
        b = self.budgets
        mean = self.total / max(1, self.frames)
        return {
            "budget_amps": float(b.amps[0]),
            "peak_amps": float(self.peak[0]),
            "capped_frames": self.capped,
            "least_gain": self.least_gain,
            "budgets": [
                {
                    "name": b.names[k],
                    "kind": b.kinds[k],
                    "amps": float(b.amps[k]),
                    "peak": float(self.peak[k]),
                    "mean": float(mean[k]),
                    "margin": float(b.amps[k] - self.peak[k]),
                    "wanted": float(self.wanted[k]),
                    "worst_frame": int(self.worst[k]),
                    "worst_time": float(self.worst[k] / self.fps),
                }
                for k in range(len(b.names))
            ],
        }
