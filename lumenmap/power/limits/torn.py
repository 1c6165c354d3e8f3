"""Currents between two packets, when the data lines of one supply show neighbouring frames.

Strategy: a packet carries the pixels of one universe, and receivers show it when it comes. So for a
moment each universe shows the new frame or the one before it, and with lost packets any earlier
one. A budget's current is the sum of what its universes draw, so three figures bound it: packets
sent in the order of falling light, which is how they are sent; packets in any order; and any packet
of any frame, which is the sum of each universe's own peak.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.choices import BudgetKind
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.pixels.universes import plan_universes
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.limits.parts import Parts

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
    """Takes the current of each packet's pixels, frame by frame, and keeps the peaks.

    Parameters
    ----------
    idle
        (K,) A of each budget with every light off.
    """

    def __init__(self, idle: F) -> None:
        self._idle = idle
        self._first: tuple[F, F] | None = None
        self._last: tuple[F, F] | None = None
        self._in_order, self._any_order = np.zeros(len(idle)), np.zeros(len(idle))
        self._each: F | None = None

    def add(self, amps: F, codes: F) -> None:
        """Take in the next frames.

        Parameters
        ----------
        amps
            (T, U, K) A above idle that each packet's pixels draw from each budget.
        codes
            (T, U) the sum of each packet's codes, by which a sender orders them.
        """
        if not len(amps):
            return
        if self._last is None:
            self._first, before = (amps[:1], codes[:1]), (amps[:0], codes[:0])
        else:
            before = self._last
        self._last = amps[-1:].copy(), codes[-1:].copy()
        high = amps.max(axis=0)
        self._each = high if self._each is None else np.maximum(self._each, high)
        self._pairs(np.concatenate([before[0], amps]), np.concatenate([before[1], codes]))

    def _pairs(self, amps: F, codes: F) -> None:
        """Count every frame of (T, U, K) with the one before it."""
        if len(amps) < 2:
            return
        old, new = amps[:-1], amps[1:]
        both = np.maximum(old, new).sum(axis=1).max(axis=0)
        self._any_order = np.maximum(self._any_order, both)
        order = np.argsort(np.diff(codes, axis=0), axis=1, kind="stable")
        steps = np.take_along_axis(new - old, order[:, :, None], axis=1).cumsum(axis=1)
        highest = old.sum(axis=1) + np.maximum(steps.max(axis=1), 0)
        self._in_order = np.maximum(self._in_order, highest.max(axis=0))

    def figures(self) -> list[PacketFigures]:
        """Return the figures of each budget; call once, after the last frame: shows loop."""
        if self._first is None or self._last is None or self._each is None:
            return [PacketFigures(float(a), float(a), float(a)) for a in self._idle]
        self._pairs(
            np.concatenate([self._last[0], self._first[0]]),
            np.concatenate([self._last[1], self._first[1]]),
        )
        lost = self._each.sum(axis=0)
        rows = np.stack([self._in_order, self._any_order, lost]) + self._idle
        # One frame alone is a mixture too.
        rows = np.maximum.accumulate(rows, axis=0)
        return [PacketFigures(*map(float, row)) for row in rows.T]


class TornCounter:
    """`PacketPeaks` of codes (T, N, C) in canonical channel order."""

    def __init__(self, budgets: Budgets, packets: Sequence[slice]) -> None:
        self._which, self._packets = counted(budgets), list(packets)
        self._by_packet = _by_packet(budgets, self._which, self._packets)
        self.peaks = PacketPeaks(budgets.idle[self._which])

    def add(self, codes: NDArray[np.uint8]) -> None:
        """Take in the next frames."""
        shape = (len(codes), len(self._packets), len(self._which))
        amps = self._by_packet.amps_of(codes).reshape(shape)
        sums = [codes[:, p].sum(axis=(1, 2), dtype=np.float64) for p in self._packets]
        self.peaks.add(amps, np.stack(sums, axis=1))

    def figures(self) -> dict[int, PacketFigures]:
        """Return the figures by number of the budget; as `PacketPeaks.figures`."""
        return dict(zip(self._which, self.peaks.figures(), strict=True))


def _by_packet(budgets: Budgets, which: list[int], packets: Sequence[slice]) -> Budgets:
    """Return a budget for each packet and budget: what the packet's pixels draw above idle."""
    masks = np.zeros((len(packets), budgets.pixels), bool)
    for mask, pixels in zip(masks, packets, strict=True):
        mask[pixels] = True
    rows = tuple(budgets.parts.rows[k].among(mask) for mask in masks for k in which)
    count = len(rows)
    names, supply = ("",) * count, COUNTED[0]
    kinds: tuple[BudgetKind, ...] = (supply,) * count
    return replace(
        budgets,
        names=names,
        kinds=kinds,
        amps=np.ones(count),
        idle=np.zeros(count),
        parts=Parts(rows, budgets.pixels),
    )


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
