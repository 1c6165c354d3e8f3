"""Totals of what a show draws, block by block: peak, mean, margin, dimmed frames."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.choices import BudgetKind
from lumenmap.power.account.account import BudgetFigures
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.limits.limit import Limited
from lumenmap.power.limits.torn import TornCounter

#: Means are added up in whole nanoamperes: the same sum however the show is cut into blocks.
NANO = 1e9


class BudgetReport(TypedDict):
    """One budget: A, and the frame (from 0) and time (s) of its peak.

    ``wanted`` is the peak at a gain of 1, without the limiter; ``between`` the most between
    packets, as `PacketFigures` has it, for supplies and branches where there are several.
    """

    name: str
    kind: BudgetKind
    amps: float
    peak: float
    mean: float
    margin: float
    wanted: float
    between: dict[str, float] | None
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
    packets
        The pixels of each packet; all pixels in one if left out.
    """

    def __init__(self, budgets: Budgets, fps: float, packets: Sequence[slice] = ()) -> None:
        self.budgets, self.fps = budgets, fps
        self._torn = TornCounter(budgets, packets) if len(packets) > 1 else None
        count = len(budgets.names)
        self._figures: list[BudgetFigures] | None = None
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
        if self._torn is not None:
            self._torn.add(block.codes)
        self.total += np.rint(amps * NANO).astype(np.int64).sum(axis=0)
        gain = block.gain if block.gain.ndim == 1 else block.gain.min(axis=1)
        self.capped += int((gain < 1).sum())
        self.least_gain = min(self.least_gain, float(gain.min()))
        self.frames += len(amps)

    def figures(self) -> list[BudgetFigures]:
        """Return the figures of each budget; call once, after the last block."""
        if self._figures is None:
            self._figures = self._counted()
        return self._figures

    def _counted(self) -> list[BudgetFigures]:
        b = self.budgets
        between = self._torn.figures() if self._torn is not None else {}
        mean = self.total / NANO / max(1, self.frames)
        return [
            BudgetFigures(
                b.names[k],
                b.kinds[k],
                float(b.amps[k]),
                float(self.peak[k]),
                float(mean[k]),
                int(self.worst[k]),
                between.get(k),
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
                    "between": asdict(r.between) if r.between else None,
                    "worst_frame": r.worst,
                    "worst_time": r.worst / self.fps,
                }
                for r, demand in zip(rows, self.demand, strict=True)
            ],
        }
