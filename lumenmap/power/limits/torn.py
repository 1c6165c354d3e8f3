"""Currents between two packets, when the data lines of one supply show neighbouring frames.

Strategy: a packet carries the pixels of one universe, and receivers show it when it comes. So for a
moment each universe shows the new frame or the one before it, and with lost packets any earlier
one. A budget's current is the sum of what its universes draw, so three figures bound it: packets
sent in the order of falling light, which is how they are sent; packets in any order; and any packet
of any frame, which is the sum of each universe's own peak.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.choices import BudgetKind
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.pixels.universes import plan_universes
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.limits.parts import Row

F = NDArray[np.float64]

#: Budgets that are counted: a supply may switch off within a frame, and a branch is what feeds a
#: line. Wire takes seconds to warm, so a frame doesn't matter to it.
COUNTED: tuple[BudgetKind, ...] = ("supply", "branch")
#: The room above idle of a budget that keeps any two frames together within it: each takes half.
HALF = 0.5


@dataclass(frozen=True, slots=True)
class PacketFigures:
    """The most a budget draws between packets (A).

    Attributes
    ----------
    in_order
        Nothing is lost, and packets arrive as they are sent, falling light first.
    any_order
        Packets arrive in any order, or one is lost and its lights stay until the next frame comes.
    lost
        Whatever is lost or late.
    """

    in_order: float
    any_order: float
    lost: float


def packets_of(pixelmap: PixelMap) -> list[slice]:
    """Return the pixels (rows of a frame) that each packet carries."""
    units = plan_universes(pixelmap.lines, pixelmap.kind.channels)
    return [slice(u.first, u.first + u.count) for u in units if u.count]


def counted(budgets: Budgets) -> list[int]:
    """Return the numbers of the budgets that are counted between packets."""
    return [k for k, kind in enumerate(budgets.kinds) if kind in COUNTED]


class PacketPeaks:
    """Takes what each packet's pixels draw from each budget, frame by frame, and keeps the peaks.

    Only pairs of a packet and a budget that share pixels are counted: a large house has hundreds of
    each, and a packet feeds from two or three.

    Parameters
    ----------
    idle
        (K,) A of each budget with every light off.
    packet, budget
        (P,) the pairs, by number of packet and budget, in any order.
    """

    def __init__(self, idle: F, packet: NDArray[np.intp], budget: NDArray[np.intp]) -> None:
        self._idle = idle
        self._sorted = np.lexsort((packet, budget))
        self._packet, self._budget = packet[self._sorted], budget[self._sorted]
        #: The budgets that have pairs, and where the pairs of each begin.
        self._own, self._starts = np.unique(self._budget, return_index=True)
        self._first: tuple[F, F] | None = None
        self._last: tuple[F, F] | None = None
        self._in_order, self._any_order = np.zeros(len(idle)), np.zeros(len(idle))
        self._each = np.zeros(len(packet))

    def add(self, amps: F, codes: F) -> None:
        """Take in the next frames.

        Parameters
        ----------
        amps
            (T, P) A above idle that each pair's packet draws from its budget.
        codes
            (T, U) the sum of each packet's codes, by which a sender orders them.
        """
        if not len(amps):
            return
        amps = amps[:, self._sorted]
        if self._last is None:
            self._first, before = (amps[:1], codes[:1]), (amps[:0], codes[:0])
        else:
            before = self._last
        self._last = amps[-1:].copy(), codes[-1:].copy()
        self._each = np.maximum(self._each, amps.max(axis=0))
        self._pairs(np.concatenate([before[0], amps]), np.concatenate([before[1], codes]))

    def _pairs(self, amps: F, codes: F) -> None:
        """Count every frame of (T, P) with the one before it."""
        if len(amps) < 2 or not len(self._own):
            return
        old, new = amps[:-1], amps[1:]
        own, starts = self._own, self._starts
        both = np.add.reduceat(np.maximum(old, new), starts, axis=1).max(axis=0)
        self._any_order[own] = np.maximum(self._any_order[own], both)
        # Each budget's packets in the order in which they are sent; its pairs stay where they are.
        sent = np.argsort(np.argsort(np.diff(codes, axis=0), axis=1, kind="stable"), axis=1)
        turn = np.argsort(self._budget * codes.shape[1] + sent[:, self._packet], axis=1)
        steps = np.take_along_axis(new - old, turn, axis=1).cumsum(axis=1)
        before = np.concatenate([np.zeros((len(old), 1)), steps[:, starts[1:] - 1]], axis=1)
        rises = np.maximum(np.maximum.reduceat(steps, starts, axis=1) - before, 0)
        highest = (np.add.reduceat(old, starts, axis=1) + rises).max(axis=0)
        self._in_order[own] = np.maximum(self._in_order[own], highest)

    def figures(self) -> list[PacketFigures]:
        """Return the figures of each budget; call once, after the last frame: shows loop."""
        if self._first is None or self._last is None:
            return [PacketFigures(float(a), float(a), float(a)) for a in self._idle]
        self._pairs(
            np.concatenate([self._last[0], self._first[0]]),
            np.concatenate([self._last[1], self._first[1]]),
        )
        lost = np.bincount(self._budget, self._each, len(self._idle))
        rows = np.stack([self._in_order, self._any_order, lost]) + self._idle
        # One frame alone is a mixture too.
        rows = np.maximum.accumulate(rows, axis=0)
        return [PacketFigures(*map(float, row)) for row in rows.T]


class TornCounter:
    """`PacketPeaks` of codes (T, N, C) in canonical channel order."""

    def __init__(self, budgets: Budgets, packets: Sequence[slice]) -> None:
        self._which, self._packets = counted(budgets), list(packets)
        rows, packet, budget = _pairs(budgets, self._which, self._packets)
        self._by_pair = budgets.above_idle(rows)
        self.peaks = PacketPeaks(budgets.idle[self._which], packet, budget)

    def add(self, codes: NDArray[np.uint8]) -> None:
        """Take in the next frames."""
        sums = [codes[:, p].sum(axis=(1, 2), dtype=np.float64) for p in self._packets]
        self.peaks.add(self._by_pair.amps_of(codes), np.stack(sums, axis=1))

    def figures(self) -> dict[int, PacketFigures]:
        """Return the figures by number of the budget; as `PacketPeaks.figures`."""
        return dict(zip(self._which, self.peaks.figures(), strict=True))


def _pairs(
    budgets: Budgets, which: list[int], packets: Sequence[slice]
) -> tuple[tuple[Row, ...], NDArray[np.intp], NDArray[np.intp]]:
    """Return the pairs that share pixels: the pixels, the packet's number, the budget's."""
    carrier = np.full(budgets.pixels, -1)
    for number, pixels in enumerate(packets):
        carrier[pixels] = number
    rows: list[Row] = []
    found: list[tuple[int, int]] = []
    for budget, k in enumerate(which):
        row = budgets.parts.rows[k]
        by = carrier[row.pixels]
        # A budget's pixels rise, and so do packets: those of one packet follow each other.
        ends = [0, *(np.flatnonzero(np.diff(by)) + 1), len(by)]
        for start, stop in itertools.pairwise(ends):
            if stop > start and by[start] >= 0:
                rows.append(Row(row.pixels[start:stop], row.whole[start:stop]))
                found.append((int(by[start]), budget))
    packet, own = np.array(found, np.intp).reshape(-1, 2).T
    return tuple(rows), packet, own


def tightened(budgets: Budgets, room: F) -> Budgets:
    """Return budgets with only this share (K,) of the room above idle."""
    return replace(budgets, amps=budgets.idle + (budgets.amps - budgets.idle) * room)


def room_for(budgets: Budgets, room: F, figures: dict[int, PacketFigures]) -> F:
    """Return the share of room (K,) that should keep ``figures``, made with ``room``, in budget.

    The same share where they are in budget already; never less than `HALF`, which suffices.
    """
    better = room.copy()
    for k, f in figures.items():
        if f.any_order > budgets.amps[k] * (1 + 1e-12):
            fits = (budgets.amps[k] - budgets.idle[k]) / (f.any_order - budgets.idle[k])
            better[k] = max(HALF, 0.999 * room[k] * fits)
    return better
