"""Volts across loads straight from their currents, where out and back conductors run in pairs.

Strategy: along a pair of conductors of one wire, what a pixel takes from one it gives to the other,
so both carry the same current and one running sum serves both. That is all that a certificate asks
of every frame, and takes a fraction of the time of finding the voltage of every node.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.power.circuit.runs import Run, Runs, in_order

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class _Pair:
    """An outward run and its return, node for node.

    ``ratio``: resistance of the return to the outward one; ``take``: the load at each node, the
    number of loads where there is none; ``nodes``, ``loads``: which of its nodes have one, and
    which.
    """

    out: Run
    back: Run
    ratio: float
    take: NDArray[np.intp]
    nodes: slice | NDArray[np.intp]
    loads: slice | NDArray[np.intp]
    count: int


class Pairs:
    """A network in which every load hangs between paired runs, or between two joints.

    Parameters
    ----------
    runs
        The network taken apart.
    plus, minus
        (loads,) the nodes of each load.
    """

    def __init__(self, runs: Runs, plus: NDArray[np.intp], minus: NDArray[np.intp]) -> None:
        self._runs = runs
        self._loads = len(plus)
        joint = np.array([int(k) in runs.place for k in plus], bool)
        self._at_joints = np.flatnonzero(joint)
        self._ends = [
            (runs.place[int(plus[n])], runs.place.get(int(minus[n]), -1)) for n in self._at_joints
        ]
        self._pairs = list(_pair_up(runs.runs, plus, minus))
        covered = len(self._at_joints) + sum(p.count for p in self._pairs)
        #: Whether it holds for this network.
        self.fits = covered == self._loads and all(b >= 0 for _, b in self._ends)

    def solve(self, amps: F) -> F:
        """Return what loads of ``amps`` (T, loads) change of the V across each load (T, loads)."""
        runs = self._runs
        joints = np.zeros((len(runs.place), len(amps)))
        for n, (a, b) in zip(self._at_joints, self._ends, strict=True):
            joints[a] -= amps[:, n]
            joints[b] += amps[:, n]
        # One load more, that draws nothing, for nodes without one.
        drawn = np.concatenate([amps, np.zeros((len(amps), 1))], axis=1)
        sums = [self._push(p, drawn, joints) for p in self._pairs]
        at = runs.rest.solve(joints)
        across = np.empty((len(amps), self._loads))
        for n, (a, b) in zip(self._at_joints, self._ends, strict=True):
            across[:, n] = at[a] - at[b]
        for p, (drop, first) in zip(self._pairs, sums, strict=True):
            out, back = p.out, p.back
            here = at[runs.place[out.start]] - at[runs.place[back.start]]
            current = first * (1 + p.ratio)
            if out.end is not None and back.end is not None:
                current += (at[runs.place[out.start]] - at[runs.place[out.end]]) / out.total
                away = (at[runs.place[back.start]] - at[runs.place[back.end]]) / back.total
                current -= p.ratio * away
            along = current[:, None] * -out.way
            drop = drop[:, : len(out.nodes)]
            drop *= 1 + p.ratio
            along += drop
            along += here[:, None]
            across[:, p.loads] = along[:, p.nodes]
        return across

    def _push(self, p: _Pair, drawn: F, joints: F) -> tuple[F, F]:
        """Put a pair's loads onto its joints; return the running drop, and A in the first link."""
        runs, out, back = self._runs, p.out, p.back
        own = np.take(drawn, p.take, axis=1, mode="clip")
        links = len(out.ohms)
        joined = np.empty((len(drawn), links))
        joined[:, 0] = 0
        np.add.accumulate(own[:, : links - 1], axis=1, out=joined[:, 1:])
        drop = joined * out.ohms
        last = joined[:, -1].copy()
        np.add.accumulate(drop, axis=1, out=drop)
        start, ret = joints[runs.place[out.start]], joints[runs.place[back.start]]
        if out.end is None or back.end is None:
            whole = last + own[:, -1]
            start -= whole
            ret += whole
            return drop, whole
        pushed = drop[:, -1] / out.total
        start -= pushed
        ret += pushed
        joints[runs.place[out.end]] -= last - pushed
        joints[runs.place[back.end]] += last - pushed
        return drop, pushed


def _pair_up(runs: list[Run], plus: NDArray[np.intp], minus: NDArray[np.intp]) -> Iterator[_Pair]:
    """Yield the runs that carry the same loads in the same order, one on each side."""
    load_at = {int(k): n for n, k in enumerate(plus)}
    ret_at = {int(k): n for n, k in enumerate(minus)}
    first = {}
    for run in runs:
        for way in (run, run.reversed()):
            loads = [ret_at.get(k, -1) for k in way.nodes.tolist()] if way else []
            first[tuple(loads)] = way
    for run in runs:
        loads = [load_at.get(k, -1) for k in run.nodes.tolist()]
        back = first.get(tuple(loads))
        if back is None or max(loads, default=-1) < 0 or (run.end is None) != (back.end is None):
            continue
        ratio = back.total / run.total
        if np.allclose(back.ohms, ratio * run.ohms, rtol=1e-9, atol=0):
            lit = [i for i, n in enumerate(loads) if n >= 0]
            take = np.array([n if n >= 0 else len(plus) for n in loads])
            yield _Pair(
                run, back, ratio, take, in_order(lit), in_order([loads[i] for i in lit]), len(lit)
            )
