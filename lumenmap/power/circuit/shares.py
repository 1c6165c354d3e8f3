"""`Shares`: how much of each load's current a resistor carries, without the zeros.

Strategy: send 1 A through a resistor alone. By reciprocity the voltages at the loads, times its
conductance, are the shares. The junctions are solved first. Between two junctions the voltage only
rises or falls, so where the four ends of a stretch of loads have one voltage, none of these loads
has a share, and nothing is worked out there. So the work grows with the loads behind each resistor:
a house of many lines takes time and memory in proportion to its pixels.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.power.circuit.reduction import ReducedNetwork

F = NDArray[np.float64]
Numbers = NDArray[np.intp]

#: Resistors worked out together: bounds the memory.
BATCH = 64
#: A smaller share is 0: a thousandth of what rounding to whole 4096ths takes no notice of.
FAINT = 1e-9


class Share(NamedTuple):
    """The loads (n,) that have a share in a resistor, rising, and their shares (n,), signed."""

    loads: Numbers
    amount: F

    def dense(self, loads: int) -> F:
        """Return the shares of so many loads, zeros and all."""
        table = np.zeros(loads)
        table[self.loads] = self.amount
        return table


class Shares:
    """The shares of loads, from ``plus`` (loads,) to ``minus`` (loads,), in a network's links."""

    def __init__(self, reduced: ReducedNetwork, plus: Numbers, minus: Numbers) -> None:
        self._reduced = reduced
        stretch = np.stack([reduced.stretch[plus], reduced.stretch[minus]], axis=1)
        pairs, group = np.unique(stretch, axis=0, return_inverse=True)
        order = np.argsort(group.ravel(), kind="stable")
        counts = np.bincount(group.ravel(), minlength=len(pairs))
        #: Loads that lie on the same two stretches, one for each conductor.
        self._groups = np.split(order, np.cumsum(counts)[:-1])
        self._pairs = pairs
        self._ends = reduced.stretch_ends[pairs].reshape(len(pairs), 4).T
        self._plus, self._minus = plus, minus

    def of(self, start: Numbers, end: Numbers, siemens: F) -> Iterator[Share]:
        """Yield the shares in links from nodes ``start`` to nodes ``end`` (R,)."""
        for i in range(0, len(start), BATCH):
            part = slice(i, i + BATCH)
            yield from self._batch(start[part], end[part], siemens[part])

    def _batch(self, start: Numbers, end: Numbers, siemens: F) -> list[Share]:
        reduced, count = self._reduced, len(start)
        inflow = np.zeros((reduced.junctions, count))
        drops = reduced.inject_pairs(start, end, inflow)
        at = reduced.at_junctions(inflow)
        ends: F = at[self._ends]
        spread: F = ends.max(axis=0) - ends.min(axis=0)
        on_plus, on_minus = np.isin(self._pairs, list(drops)).T
        active = np.logical_or(spread * siemens > FAINT, (on_plus | on_minus)[:, None])
        found: list[list[tuple[Numbers, F]]] = [[] for _ in range(count)]
        for g in np.flatnonzero(active.any(axis=1)).tolist():
            loads = self._groups[g]
            plus, minus = (
                reduced.volts_on(stretch, nodes[loads], at, drops.get(stretch))
                for stretch, nodes in zip(
                    self._pairs[g].tolist(), (self._plus, self._minus), strict=True
                )
            )
            share = (minus - plus) * siemens[:, None]
            for row in np.flatnonzero(active[g]).tolist():
                found[row].append((loads, share[row]))
        return [_joined(parts) for parts in found]


def _joined(parts: list[tuple[Numbers, F]]) -> Share:
    if not parts:
        return Share(np.zeros(0, np.intp), np.zeros(0))
    loads, amount = (np.concatenate(each) for each in zip(*parts, strict=True))
    order = np.argsort(loads)
    return Share(loads[order], amount[order])
