"""Totals of what a show draws, block by block: peak, mean, margin, dimmed frames."""

from __future__ import annotations

from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.choices import BudgetKind
from lumenmap.power.account.account import BudgetFigures
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.limits.limit import Limited

#: Means are added up in whole nanoamperes: the same sum however the show is cut into blocks.
NANO = 1e9


class BudgetReport(TypedDict):
    """One budget: A, and the frame (from 0) and time (s) of its peak.

    ``wanted`` is the peak at a gain of 1, without the limiter.
    """

    name: str
    kind: BudgetKind
    amps: float
    peak: float
    mean: float
    margin: float
    wanted: float
    worst_frame: int
    worst_time: float


class DrawReport(TypedDict):
    """What a show drew: the first budget's A and peak, and every budget.

    ``capped_frames`` were dimmed, the darkest to ``least_gain`` of their light (0..1).
    """

    budget_amps: float
    peak_amps: float
    capped_frames: int
    least_gain: float
    budgets: list[BudgetReport]


class Tally:
    """Totals of a show for each budget; memory doesn't grow with its length.

    Parameters
    ----------
    budgets
        What the show was limited to.
    fps
        Its frame rate, for the time of the worst frame.
    """

    def __init__(self, budgets: Budgets, fps: float) -> None:
        self.budgets, self.fps = budgets, fps
        count = len(budgets.names)
        self.frames = 0
        self.capped = 0
        self.least_gain = 1.0
        self.peak = np.zeros(count)
        self.worst = np.zeros(count, int)
        self.total: NDArray[np.int64] = np.zeros(count, np.int64)
        self.demand = np.zeros(count)

    def add(self, block: Limited) -> None:
        """Add the next block of the show."""
        amps = block.amps
        best = amps.argmax(axis=0)
        high = amps.max(axis=0)
        better = high > self.peak
        self.worst[better] = (best + self.frames)[better]
        self.peak = np.maximum(self.peak, high)
        self.demand = np.maximum(self.demand, block.demand.max(axis=0))
        self.total += np.rint(amps * NANO).astype(np.int64).sum(axis=0)
        gain = block.gain if block.gain.ndim == 1 else block.gain.min(axis=1)
        self.capped += int((gain < 1).sum())
        self.least_gain = min(self.least_gain, float(gain.min()))
        self.frames += len(amps)

    def figures(self) -> list[BudgetFigures]:
        """Return the figures of each budget so far."""
        b = self.budgets
        mean = self.total / NANO / max(1, self.frames)
        return [
            BudgetFigures(
                b.names[k],
                b.kinds[k],
                float(b.amps[k]),
                float(self.peak[k]),
                float(mean[k]),
                int(self.worst[k]),
            )
            for k in range(len(b))
        ]

    def report(self) -> DrawReport:
        """Return the figures for ``report.json``: A, frames, s, and shares of 1."""
        rows = self.figures()
        return {
            "budget_amps": rows[0].amps,
            "peak_amps": rows[0].peak,
            "capped_frames": self.capped,
            "least_gain": self.least_gain,
            "budgets": [
                {
                    "name": r.name,
                    "kind": r.kind,
                    "amps": r.amps,
                    "peak": r.peak,
                    "mean": r.mean,
                    "margin": r.amps - r.peak,
                    "wanted": float(demand),
                    "worst_frame": r.worst,
                    "worst_time": r.worst / self.fps,
                }
                for r, demand in zip(rows, self.demand, strict=True)
            ],
        }
