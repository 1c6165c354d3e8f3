"""Recounting exported frames from their bytes: current of each budget, checksum, flashes.

The bytes are read a megabyte at a time, in the order the wire carries them. The arithmetic is
separate from that of the limiter: only the limits and the share of each pixel's current are taken
from the budgets.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.flashes import Flashing
from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.order import channel_places
from lumenmap.parts.light import as_seen
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.pixels.universes import plan_universes
from lumenmap.power.account.account import BudgetFigures
from lumenmap.power.account.octets import blocks, drawn_amps, weights_of
from lumenmap.power.limits.budgets import Budgets, idle_amps
from lumenmap.power.limits.torn import PacketFigures, PacketPeaks, counted

F = NDArray[np.float64]

#: Adding whole steps of current leaves float rounding far below this (A).
_ROUNDING = 1e-9
#: At most so many frames over budget are reported.
MAX_REPORTED = 20


@dataclass(slots=True)
class Recount:
    """The figures of a file of frames.

    Attributes
    ----------
    budgets
        The K budgets it was checked against.
    frames, extra_bytes
        Whole frames, and bytes left over after the last of them.
    sha256
        Of the whole file.
    peak, worst_frame, total
        (K,) the highest current (A), the first frame that draws it, and the sum over all frames
        in whole nanoamperes, which is the same however the file is cut into blocks.
    over
        (frame, number of the budget, A) of the first frames over a budget.
    flashing
        Where more than three flashes a second were counted.
    between
        What supplies and branches draw between packets, by number of the budget.
    """

    budgets: Budgets
    frames: int = 0
    extra_bytes: int = 0
    sha256: str = ""
    peak: list[float] = field(default_factory=list)
    worst_frame: list[int] = field(default_factory=list)
    total: list[int] = field(default_factory=list)
    over: list[tuple[int, int, float]] = field(default_factory=list)
    flashing: list[Flashing] = field(default_factory=list)
    between: dict[int, PacketFigures] = field(default_factory=dict)

    def rows(self) -> list[BudgetFigures]:
        """Return the figures of each budget."""
        b = self.budgets
        return [
            BudgetFigures(
                b.names[k],
                b.kinds[k],
                float(b.amps[k]),
                self.peak[k],
                self.total[k] / 1e9 / max(1, self.frames),
                self.worst_frame[k],
                self.between.get(k),
            )
            for k in range(len(b))
        ]


def recount(
    raw: Path, pixelmap: PixelMap, budgets: Budgets, watch: FlashCounter | None = None
) -> Recount:
    """Recount the current of every frame in ``frames.rgb``, and its flashes if ``watch`` is given.

    Raises
    ------
    InputError
        The file can't be read.
    """
    kind = pixelmap.kind
    size = len(pixelmap) * kind.channels
    currents = sorted(set(kind.channel_ma))
    weights = weights_of(pixelmap, budgets, currents)
    idle = idle_amps(budgets.parts, kind)
    torn = _Packets(pixelmap, budgets, idle, weights)
    peak, worst = np.full(len(budgets), -1.0), np.zeros(len(budgets), int)
    total, digest, found = np.zeros(len(budgets), np.int64), hashlib.sha256(), Recount(budgets)
    for data in blocks(raw, size):
        digest.update(data)
        whole = len(data) // size
        found.extra_bytes = len(data) - whole * size
        if not whole:
            break
        values = np.frombuffer(data, np.uint8, whole * size).reshape(whole, size)
        amps = drawn_amps(values.astype(np.float64), weights, currents) + idle
        torn.add(values, currents)
        high = amps.max(axis=0)
        worst = np.where(high > peak, amps.argmax(axis=0) + found.frames, worst)
        peak = np.maximum(peak, high)
        total += np.rint(amps * 1e9).astype(np.int64).sum(axis=0)
        if len(found.over) < MAX_REPORTED:
            found.over += _over(amps, budgets.amps, found.frames)
        found.frames += whole
        if watch is not None:
            watch.add(_light(values, pixelmap))
    found.sha256 = digest.hexdigest()
    found.peak, found.worst_frame = np.maximum(peak, 0).tolist(), worst.tolist()
    found.total, found.between = total.tolist(), torn.figures()
    found.flashing = watch.findings() if watch is not None else []
    return found


class _Packets:
    """Counts, from the bytes of each packet, what supplies and branches draw between packets."""

    def __init__(self, pixelmap: PixelMap, budgets: Budgets, idle: F, weights: list[Any]) -> None:
        units = plan_universes(pixelmap.lines, pixelmap.kind.channels)
        self._octets = [u.octets for u in units if u.count]
        self._which = counted(budgets)
        # A packet's weights are those of the budgets that it draws from: two or three of many.
        rows = [_by_rows(table) for table in weights]
        self._weights: list[list[Any]] = []
        packet, budget = [], []
        for number, part in enumerate(self._octets):
            own = [table[part][:, self._which] for table in rows]
            drawn = sorted({int(k) for table in own for k in table.nonzero()[1]})
            self._weights.append([table[:, drawn] for table in own])
            packet += [number] * len(drawn)
            budget += drawn
        self._peaks = PacketPeaks(
            idle[self._which], np.array(packet, np.intp), np.array(budget, np.intp)
        )

    def add(self, values: NDArray[np.uint8], currents: list[float]) -> None:
        """Take in the next frames: bytes (T, N·C) in wire order."""
        if len(self._octets) < 2:
            return
        amps, sums = [], []
        for part, weights in zip(self._octets, self._weights, strict=True):
            own = values[:, part].astype(np.float64)
            amps.append(drawn_amps(own, weights, currents))
            sums.append(own.sum(axis=1))
        self._peaks.add(np.concatenate(amps, axis=1), np.stack(sums, axis=1))

    def figures(self) -> dict[int, PacketFigures]:
        """Return the figures by number of the budget; none if one packet carries all."""
        if len(self._octets) < 2:
            return {}
        return dict(zip(self._which, self._peaks.figures(), strict=True))


def _by_rows(table: Any) -> Any:
    """Return a table whose rows are cut out quickly: an array, or a sparse matrix by rows."""
    return table if isinstance(table, np.ndarray) else table.tocsr()


def _over(amps: F, limits: F, first: int) -> list[tuple[int, int, float]]:
    frames, which = np.nonzero(amps > limits + _ROUNDING)
    return [
        (int(f) + first, int(k), float(amps[f, k])) for f, k in zip(frames, which, strict=True)
    ][:MAX_REPORTED]


def _light(values: NDArray[np.uint8], pixelmap: PixelMap) -> NDArray[np.float32]:
    """Return how bytes (T, N·C) in wire order look: light (T, N, 3), white at 1."""
    wire = values.reshape(len(values), len(pixelmap), pixelmap.kind.channels)
    codes = np.empty_like(wire)
    for span in pixelmap.lines:
        codes[:, span.slice, channel_places(span.order)] = wire[:, span.slice]
    light = codes.astype(np.float32) * np.float32(1 / 255)
    return as_seen(light, pixelmap.kind)


def supply_amps(raw: Path, pixelmap: PixelMap, budgets: Budgets) -> tuple[list[dict[str, Any]], F]:
    """Return the supplies' names and idle current, and what each frame draws from them (T, S), A.

    Raises
    ------
    InputError
        The file can't be read.
    """
    kind = pixelmap.kind
    size = len(pixelmap) * kind.channels
    chosen = [k for k, what in enumerate(budgets.kinds) if what == "supply"]
    currents = sorted(set(kind.channel_ma))
    weights = [table[:, chosen] for table in weights_of(pixelmap, budgets, currents)]
    rows = [np.zeros((0, len(chosen)))]
    for data in blocks(raw, size):
        whole = len(data) // size
        values = np.frombuffer(data, np.uint8, whole * size).reshape(whole, size)
        rows.append(drawn_amps(values.astype(np.float64), weights, currents))
    idle = idle_amps(budgets.parts, kind)[chosen]
    named = [
        {"name": budgets.names[k], "idle": float(a)} for k, a in zip(chosen, idle, strict=True)
    ]
    return named, np.concatenate(rows) + idle
