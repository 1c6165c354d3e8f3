"""Steady voltages and currents of a circuit whose loads draw given currents, for many frames.

Strategy: with currents given the network is linear, so it is taken apart once (`Elimination`) and
every frame is a pass up and down the chain, all frames at once. What a wire carries is a fixed
share of each load's current; the shares come from one solve a wire, by reciprocity.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.power.circuit import Circuit
from lumenmap.power.elimination import Elimination, Factored

F = NDArray[np.float64]

#: Frames solved at once: rows of this many doubles stay in the processor's first cache.
BATCH = 512


class Network:
    """A circuit made ready for solving; ask `loose` and `meeting_sources` first."""

    def __init__(self, circuit: Circuit) -> None:
        root = np.array(circuit.root, np.intp)
        offset = np.array(circuit.offset)
        ends = np.array([r[:2] for r in circuit.resistors], np.intp).reshape(-1, 2)
        loads = np.array(circuit.loads, np.intp).reshape(-1, 2)
        self.nodes = circuit.nodes
        self.ends = root[ends]
        self.lift = offset[ends[:, 0]] - offset[ends[:, 1]]
        self.siemens = 1 / np.array([r[2] for r in circuit.resistors])
        self.plus, self.minus = root[loads].T
        self.load_lift = offset[loads[:, 0]] - offset[loads[:, 1]]
        self.pinned, self.part = _parts(circuit.nodes, self.ends, circuit.sources)
        self._plus_of = {t: k for k, t in enumerate(circuit.plus_terminals)}
        self._terminals = [r[:2] for r in circuit.resistors]
        self._factored: Factored | None = None

    def loose(self) -> NDArray[np.bool_]:
        """Tell which loads have an end that reaches no source."""
        lost: NDArray[np.bool_] = (self.part[self.plus] < 0) | (self.part[self.minus] < 0)
        return lost

    def meeting_sources(self) -> list[tuple[int, int]]:
        """Return pairs of sources (numbers) whose plus ends are joined by wires.

        Such sources push current round through each other.
        """
        parent: dict[int, int] = {}

        def find(k: int) -> int:
            while parent.setdefault(k, k) != k:
                k = parent[k]
            return k

        for a, b in self._terminals:
            parent[find(a)] = find(b)
        seen: dict[int, int] = {}
        found = []
        for terminal, source in self._plus_of.items():
            other = seen.setdefault(find(terminal), source)
            if other != source:
                found.append((other, source))
        return found

    @property
    def factored(self) -> Factored:
        """The network of wires alone, taken apart."""
        if self._factored is None:
            links = [(int(a), int(b)) for a, b in self.ends]
            plan = Elimination(self.nodes, links, self.pinned)
            self._factored = plan.factor(self.conductances(plan, links))
        return self._factored

    def conductances(self, plan: Elimination, links: Sequence[tuple[int, int]]) -> F:
        """Return (links,) siemens for a plan, from the wires."""
        total = np.zeros(plan.links)
        for (a, b), g in zip(links, self.siemens, strict=True):
            if a != b:
                total[plan.index(a, b)] += g
        return total

    def source_inflow(self) -> F:
        """Return the A (nodes,) that the sources push in at what they are wired to."""
        push = self.siemens * self.lift
        both = np.concatenate([-push, push])
        total: F = np.bincount(self.ends.T.ravel(), both, self.nodes).astype(np.float64)
        return total

    def inflow(self, amps: F) -> F:
        """Return the A (nodes, T) that flow into each node: sources less loads (T, loads)."""
        drawn = np.ascontiguousarray(amps.T)
        total = np.repeat(self.source_inflow()[:, None], len(amps), axis=1)
        for nodes, sign in ((self.plus, -1.0), (self.minus, 1.0)):
            if len(np.unique(nodes)) == len(nodes):
                total[nodes] += sign * drawn
            else:
                np.add.at(total, nodes, sign * drawn)
        return total

    def solve(self, amps: F) -> F:
        """Return node voltages (T, nodes) for load currents (T, loads), A."""
        found = np.empty((self.nodes, len(amps)))
        for i in range(0, len(amps), BATCH):
            found[:, i : i + BATCH] = self.factored.solve(self.inflow(amps[i : i + BATCH]))
        return found.T

    def at_loads(self, volts: F) -> F:
        """Return V across each load (T, loads) from node voltages (T, nodes)."""
        across: F = volts[:, self.plus] - volts[:, self.minus] + self.load_lift
        return across

    def flow(self, volts: F, resistors: Sequence[int] | NDArray[np.intp]) -> F:
        """Return A (T, R) through resistors, from their first terminal to their second."""
        which = np.asarray(resistors, np.intp)
        a, b = self.ends[which].T
        through: F = (volts[:, a] - volts[:, b] + self.lift[which]) * self.siemens[which]
        return through

    def shares(self, resistors: Sequence[int] | NDArray[np.intp]) -> F:
        """Return the part (R, loads) of each load's current that each resistor carries, signed."""
        which = np.asarray(resistors, np.intp)
        push = np.zeros((self.nodes, len(which)))
        columns = np.arange(len(which))
        np.add.at(push, (self.ends[which, 0], columns), 1.0)
        np.add.at(push, (self.ends[which, 1], columns), -1.0)
        volts = self.factored.solve(push)
        part: F = ((volts[self.minus] - volts[self.plus]) * self.siemens[which]).T
        return part


def _parts(nodes: int, ends: NDArray[np.intp], sources: list[int]) -> tuple[set[int], F]:
    """Return a pinned node for each connected part, and each node's part (-1: no source in it)."""
    parent = list(range(nodes))

    def find(k: int) -> int:
        while parent[k] != k:
            parent[k] = parent[parent[k]]
            k = parent[k]
        return k

    for a, b in ends:
        parent[find(int(a))] = find(int(b))
    pins: dict[int, int] = {}
    for source in sources:
        pins.setdefault(find(source), source)
    part = np.array([pins.get(find(k), -1) for k in range(nodes)])
    # A part without a source is pinned anywhere, so that the elimination ends there.
    for k in range(nodes):
        pins.setdefault(find(k), k)
    return set(pins.values()), part
