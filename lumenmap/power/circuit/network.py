"""`Network`: voltages and currents of a circuit whose loads draw given currents, for many frames.

Strategy: with currents given the network is linear, so it is prepared once (`ReducedNetwork`) and
all frames are solved together. A wire carries a fixed share of each load's current; the shares come
from one solve for each wire, by reciprocity.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lumenmap.power.circuit.circuit import Circuit
from lumenmap.power.circuit.elimination import Elimination
from lumenmap.power.circuit.reduction import ReducedNetwork
from lumenmap.power.circuit.shares import Share, Shares

F = NDArray[np.float64]

#: Frames solved together: enough to outweigh the cost of a call, few enough to stay in the cache.
BATCH = 64


class Network:
    """A circuit made ready for solving; check `unfed_loads` and `joined_sources` first."""

    def __init__(self, circuit: Circuit) -> None:
        root = np.array(circuit.root, np.intp)
        offset = np.array(circuit.offset)
        ends = np.array([r[:2] for r in circuit.resistors], np.intp).reshape(-1, 2)
        loads = np.array(circuit.loads, np.intp).reshape(-1, 2)
        self.nodes = circuit.nodes
        self.ends = root[ends]
        self.offset_volts = offset[ends[:, 0]] - offset[ends[:, 1]]
        self.siemens = 1 / np.array([r[2] for r in circuit.resistors])
        self.plus, self.minus = root[loads].T
        self.load_offset_volts = offset[loads[:, 0]] - offset[loads[:, 1]]
        self.pinned, self.component = _components(circuit.nodes, self.ends, circuit.sources)
        self.plus_terminals = tuple(circuit.plus_terminals)
        self._known: dict[int, Share] = {}
        self.terminals = [r[:2] for r in circuit.resistors]
        self._terminals = len(circuit.root)

    def unfed_loads(self) -> NDArray[np.bool_]:
        """Return which loads (loads,) have an end that reaches no source."""
        unfed: NDArray[np.bool_] = (self.component[self.plus] < 0) | (
            self.component[self.minus] < 0
        )
        return unfed

    def joined_sources(self) -> list[tuple[int, int]]:
        """Return pairs of sources (numbers) whose plus terminals are connected by wires.

        Such sources drive current through each other.
        """
        group = _joined(self._terminals, self.terminals)
        seen: dict[int, int] = {}
        found = []
        for source, terminal in enumerate(self.plus_terminals):
            other = seen.setdefault(group[terminal], source)
            if other != source:
                found.append((other, source))
        return found

    @cached_property
    def reduced(self) -> ReducedNetwork:
        """The wires alone, made ready for solving."""
        links: dict[tuple[int, int], float] = {}
        for (a, b), g in zip(self.ends.tolist(), self.siemens.tolist(), strict=True):
            if a != b:
                pair = (a, b) if a < b else (b, a)
                links[pair] = links.get(pair, 0.0) + g
        return ReducedNetwork(self.nodes, links, self.pinned)

    def conductances(self, plan: Elimination, links: Sequence[tuple[int, int]]) -> F:
        """Return (links,) siemens for a plan, from the wires."""
        total = np.zeros(plan.links)
        for (a, b), g in zip(links, self.siemens, strict=True):
            if a != b:
                total[plan.index(a, b)] += g
        return total

    @cached_property
    def unloaded(self) -> F:
        """V (nodes,) without any load."""
        links = [(int(a), int(b)) for a, b in self.ends]
        plan = Elimination(self.nodes, links, self.pinned)
        push = self.siemens * self.offset_volts
        inflow = np.bincount(self.ends.T.ravel(), np.concatenate([-push, push]), self.nodes)
        factorization = plan.factor(self.conductances(plan, links))
        return factorization.solve(inflow.astype(np.float64)[:, None])[:, 0]

    @cached_property
    def _inflow_column(self) -> NDArray[np.intp] | None:
        """Each node's column of (minus amps, amps, 0); None if two loads share a node."""
        loads = len(self.plus)
        if np.bincount(np.concatenate([self.plus, self.minus])).max(initial=0) > 1:
            return None
        column = np.full(self.nodes, 2 * loads)
        column[self.plus] = np.arange(loads)
        column[self.minus] = np.arange(loads, 2 * loads)
        return column

    def inflow(self, amps: F) -> F:
        """Return the A (T, nodes) that loads of ``amps`` (T, loads) inject at each node."""
        frames, loads = amps.shape
        total = np.zeros((frames, self.nodes))
        if self._inflow_column is None:
            np.subtract.at(total.T, self.plus, amps.T)
            np.add.at(total.T, self.minus, amps.T)
            return total
        both = np.zeros((frames, 2 * loads + 1))
        np.negative(amps, out=both[:, :loads])
        both[:, loads:-1] = amps
        # All columns are within bounds, so clipping changes nothing; it is the faster mode.
        return np.take(both, self._inflow_column, axis=1, out=total, mode="clip")

    def solve(self, amps: F) -> F:
        """Return node voltages (T, nodes) for load currents (T, loads), A."""
        found = np.empty((len(amps), self.nodes))
        for i in range(0, len(amps), BATCH):
            batch = found[i : i + BATCH]
            self.reduced.solve(self.inflow(amps[i : i + BATCH]), out=batch)
            batch += self.unloaded  # superposition: the sources alone, then the loads alone
        return found

    def load_volts(self, amps: F) -> F:
        """Return V across each load (T, loads) for load currents (T, loads), A.

        The same as `at_loads` of `solve`, without the voltages of all nodes in memory at once.
        """
        found = np.empty_like(amps)
        for i in range(0, len(amps), BATCH):
            found[i : i + BATCH] = self.at_loads(self.solve(amps[i : i + BATCH]))
        return found

    def at_loads(self, volts: F) -> F:
        """Return V across each load (T, loads) from node voltages (T, nodes)."""
        across: F = volts[:, self.plus] - volts[:, self.minus] + self.load_offset_volts
        return across

    def flow(self, volts: F, resistors: Sequence[int] | NDArray[np.intp]) -> F:
        """Return A (T, R) through resistors, from their first terminal to their second."""
        which = np.asarray(resistors, np.intp)
        a, b = self.ends[which].T
        through: F = (volts[:, a] - volts[:, b] + self.offset_volts[which]) * self.siemens[which]
        return through

    def shares(self, resistors: Sequence[int] | NDArray[np.intp]) -> list[Share]:
        """Return the share of each load's current in each resistor, signed.

        Many are found together in less time than one by one, and are kept.
        """
        wanted = [int(k) for k in resistors]
        new = [k for k in dict.fromkeys(wanted) if k not in self._known]
        start, end = self.ends[new].T
        self._known.update(zip(new, self._shares.of(start, end, self.siemens[new]), strict=True))
        return [self._known[k] for k in wanted]

    @cached_property
    def _shares(self) -> Shares:
        return Shares(self.reduced, self.plus, self.minus)


def _components(nodes: int, ends: NDArray[np.intp], sources: list[int]) -> tuple[set[int], F]:
    """Return a node to pin in each component, and each node's component (-1: without source)."""
    group = _joined(nodes, ends.tolist())
    pins: dict[int, int] = {}
    for source in sources:
        pins.setdefault(group[source], source)
    component = np.array([pins.get(own, -1) for own in group])
    # A component without a source is pinned anywhere, so that the elimination ends there.
    for k, own in enumerate(group):
        pins.setdefault(own, k)
    return set(pins.values()), component


def _joined(count: int, links: Iterable[Sequence[int]]) -> list[int]:
    """Return one of its own for each of ``count`` points, the same for all that links connect."""
    parent = list(range(count))

    def find(k: int) -> int:
        while parent[k] != k:
            parent[k] = parent[parent[k]]
            k = parent[k]
        return k

    for a, b in links:
        parent[find(a)] = find(b)
    return [find(k) for k in range(count)]
