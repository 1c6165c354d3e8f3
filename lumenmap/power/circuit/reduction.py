"""Runs: stretches of a network where each node has two neighbours, solved by running sums.

Strategy: most nodes of a lighting network lie in a row between two joints. Along such a run the
current is a running sum of what flows in, and the voltage a running sum of resistance times
current, so a whole run is a few array operations however many pixels it has. To the rest of the
network it is one resistor and two currents; what is left after that is small, and is solved by
elimination.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.power.circuit.elimination import Elimination

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """Nodes in a row from a joint; ``end`` is the joint it leads to, or None if it just ends.

    ``ohms``: of each link, the one from the joint first, the one to ``end`` last; ``way``: from the
    joint to each node; ``total``: of the whole run. ``row``: the nodes as a slice where they are
    numbered in order, which needs no copying.
    """

    start: int
    nodes: NDArray[np.intp]
    end: int | None
    ohms: F

    way: F
    total: float
    row: slice | NDArray[np.intp]


class Runs:
    """A resistor network made ready for solving.

    Parameters
    ----------
    nodes
        How many.
    links
        Siemens by pair of nodes; pairs are in rising order, each once.
    pinned
        Nodes held at 0 V; each connected part has one.

    Attributes
    ----------
    runs, place, rest
        The runs; the number of each joint among joints; what is left, taken apart.
    """

    def __init__(self, nodes: int, links: dict[tuple[int, int], float], pinned: set[int]) -> None:
        self._nodes = nodes
        beside: list[dict[int, float]] = [{} for _ in range(nodes)]
        for (a, b), g in links.items():
            beside[a][b] = beside[b][a] = g
        joints = [k for k in range(nodes) if k in pinned or len(beside[k]) > 2]
        self.runs = list(_walk(beside, joints))
        self._joints = np.array(joints, np.intp)
        self.place = {k: i for i, k in enumerate(joints)}
        pairs = [
            (self.place[r.start], self.place[r.end], 1 / r.total)
            for r in self.runs
            if r.end is not None and r.end != r.start
        ]
        held = {self.place[k] for k in pinned}
        plan = Elimination(len(joints), [(a, b) for a, b, _ in pairs], held)
        siemens = np.zeros(max(1, plan.links))
        for a, b, g in pairs:
            siemens[plan.index(a, b)] += g
        self.rest = plan.factor(siemens)

    def solve(self, inflow: F, out: F | None = None) -> F:
        """Return V (T, nodes) for A put in at each node (T, nodes)."""
        volts = np.empty_like(inflow) if out is None else out
        at_joints = inflow[:, self._joints].T.copy()
        sums = [self._push(run, inflow, at_joints) for run in self.runs]
        at = self.rest.solve(at_joints)
        volts[:, self._joints] = at.T
        for run, (drop, current) in zip(self.runs, sums, strict=True):
            if not len(run.nodes):
                continue
            here = at[self.place[run.start]]
            if run.end is not None:
                current = current + (here - at[self.place[run.end]]) / run.total
            along = current[:, None] * run.way
            along += drop[:, : len(run.nodes)]
            if isinstance(run.row, slice):
                np.subtract(here[:, None], along, out=volts[:, run.row])
            else:
                volts[:, run.row] = here[:, None] - along
        return volts

    def _push(self, run: Run, inflow: F, at_joints: F) -> tuple[F, F]:
        """Put a run's inflow onto its joints.

        Returns
        -------
        drop, current
            V (T, links) that the inflow alone drops up to the end of each link, and A (T,) in the
            first link when both joints are at 0 V.
        """
        # Column j: what has joined the current of link j since the start.
        joined = np.empty((len(inflow), len(run.ohms)))
        joined[:, 0] = 0
        own = inflow[:, run.row]
        np.add.accumulate(own[:, : len(run.ohms) - 1], axis=1, out=joined[:, 1:])
        drop = joined * run.ohms
        np.add.accumulate(drop, axis=1, out=drop)
        start = at_joints[self.place[run.start]]
        if run.end is None:
            whole = joined[:, -1] + own[:, -1]
            start += whole
            return drop, -whole
        pushed = drop[:, -1] / run.total
        start += pushed
        at_joints[self.place[run.end]] += joined[:, -1] - pushed
        return drop, -pushed


def _walk(beside: list[dict[int, float]], joints: list[int]) -> Iterator[Run]:
    """Yield every run once, from the joint with the lower number."""
    is_joint = np.zeros(len(beside), bool)
    is_joint[joints] = True
    seen = np.zeros(len(beside), bool)
    for start in joints:
        for first, g in beside[start].items():
            if seen[first] or (is_joint[first] and first < start):
                continue
            nodes, ohms, before, here = [], [1 / g], start, first
            while not is_joint[here]:
                seen[here] = True
                nodes.append(here)
                ahead = [k for k in beside[here] if k != before]
                if not ahead:
                    break
                ohms.append(1 / beside[here][ahead[0]])
                before, here = here, ahead[0]
            end = here if is_joint[here] else None
            yield run_of(start, nodes, end, np.array(ohms))


def run_of(start: int, nodes: list[int], end: int | None, ohms: F) -> Run:
    """Make a run."""
    way = np.cumsum(ohms)
    return Run(
        start,
        np.array(nodes, np.intp),
        end,
        ohms,
        way[: len(nodes)],
        float(way[-1]),
        in_order(nodes),
    )


def in_order(nodes: Sequence[int]) -> slice | NDArray[np.intp]:
    """Return numbers as a slice if they rise or fall by one, else as an array."""
    first, count = (nodes[0], len(nodes)) if len(nodes) else (0, 0)
    if list(nodes) == list(range(first, first + count)):
        return slice(first, first + count)
    if list(nodes) == list(range(first, first - count, -1)):
        return slice(first, first - count if first >= count else None, -1)
    return np.array(nodes, np.intp)
