"""Recounting exported frames from their bytes: amps of each budget, digest, flashes.

The bytes are read a megabyte at a time, in the order the wire carries them.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.account.certificate import BudgetFigures
from lumenmap.power.account.independent import IndependentBudget
from lumenmap.power.account.reflash import Reflash, ReflashCount

F = NDArray[np.float64]

#: Bytes read at once.
_BLOCK = 1 << 20
#: Counting whole steps of current leaves float rounding far below this (A).
_TINY = 1e-9
#: Frames over budget that are named; where there are more, these say enough.
MOST = 20


@dataclass(slots=True)
class Recount:
    """What the bytes hold; ``over`` lists (frame, number of the budget, A)."""

    budgets: list[IndependentBudget]
    frames: int = 0
    spare: int = 0
    sha256: str = ""
    peak: list[float] = field(default_factory=list)
    worst: list[int] = field(default_factory=list)
    nano: list[int] = field(default_factory=list)
    over: list[tuple[int, int, float]] = field(default_factory=list)
    flashing: list[Reflash] = field(default_factory=list)

    def rows(self) -> list[BudgetFigures]:
        """Return the figures of each budget."""
        return [
            BudgetFigures(
                b.name,
                b.kind,
                b.limit,
                self.peak[k],
                self.nano[k] / 1e9 / max(1, self.frames),
                self.worst[k],
            )
            for k, b in enumerate(self.budgets)
        ]


def recount(
    raw: Path,
    pixelmap: PixelMap,
    budgets: list[IndependentBudget],
    flashes: ReflashCount | None = None,
) -> Recount:
    """Count amps of ``frames.rgb``, and its flashes if there is a count for them; digest it.

    Raises
    ------
    InputError
        It can't be read.
    """
    kind = pixelmap.kind
    size = len(pixelmap) * kind.channels
    currents = sorted(set(kind.channel_ma))
    weights = _weights(pixelmap, budgets, currents)
    idle = np.array([b.parts.sum() / 4096 * kind.idle_ma / 1000 for b in budgets])
    limits = np.array([b.limit for b in budgets])
    peak, worst = np.full(len(budgets), -1.0), np.zeros(len(budgets), int)
    nano, digest, found = np.zeros(len(budgets), np.int64), hashlib.sha256(), Recount(budgets)
    try:
        with raw.open("rb") as file:
            while data := file.read(max(1, _BLOCK // size) * size):
                digest.update(data)
                whole = len(data) // size
                found.spare = len(data) - whole * size
                if not whole:
                    break
                values = np.frombuffer(data, np.uint8, whole * size).reshape(whole, size)
                amps = _amps(values.astype(np.float64), weights, currents) + idle
                high = amps.max(axis=0)
                worst = np.where(high > peak, amps.argmax(axis=0) + found.frames, worst)
                peak = np.maximum(peak, high)
                nano += np.rint(amps * 1e9).astype(np.int64).sum(axis=0)
                if len(found.over) < MOST:
                    found.over += _over(amps, limits, found.frames)
                found.frames += whole
                if flashes is not None:
                    flashes.add(values)
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror or error}", file=raw) from None
    found.sha256 = digest.hexdigest()
    found.peak, found.worst = np.maximum(peak, 0).tolist(), worst.tolist()
    found.nano = nano.tolist()
    found.flashing = flashes.findings() if flashes is not None else []
    return found


def _amps(values: F, weights: list[F], currents: list[float]) -> F:
    """Return A above idle (T, K) of bytes (T, N·C) in wire order."""
    total = np.zeros((len(values), weights[0].shape[1]))
    for table, current in zip(weights, currents, strict=True):
        total += (values @ table) * (current / 1000 / 255 / 4096)
    return total


def _weights(
    pixelmap: PixelMap, budgets: list[IndependentBudget], currents: list[float]
) -> list[NDArray[np.float64]]:
    """Return, for each distinct channel current, (N·C, K) parts for bytes in wire order."""
    kind = pixelmap.kind
    tables = [np.zeros((len(pixelmap), kind.channels, len(budgets))) for _ in currents]
    parts = np.array([b.parts for b in budgets], float).reshape(len(budgets), -1)
    for span in pixelmap.lines:
        for place, letter in enumerate(span.order):
            current = kind.channel_ma["RGBW".index(letter)]
            tables[currents.index(current)][span.slice, place] = parts[:, span.slice].T
    return [t.reshape(-1, len(budgets)) for t in tables]


def _over(amps: F, limits: F, first: int) -> list[tuple[int, int, float]]:
    frames, which = np.nonzero(amps > limits + _TINY)
    return [
        (int(f) + first, int(k), float(amps[f, k])) for f, k in zip(frames, which, strict=True)
    ][:MOST]
