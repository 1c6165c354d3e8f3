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
class Chain:
    """Nodes in a row from a joint; ``end`` is the joint it leads to, or None if it just ends.

    ``link_ohms``: of each link, the one from the joint first, the one to ``end`` last; ``cumulative_ohms``: from the
    joint to each node; ``total_ohms``: of the whole run. ``node_index``: the nodes as a slice where they are
    numbered in order, which needs no copying.
    """

    start: int
    nodes: NDArray[np.intp]
    end: int | None
    link_ohms: F

    cumulative_ohms: F
    total_ohms: float
    node_index: slice | NDArray[np.intp]


class ReducedNetwork:
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
        neighbours: list[dict[int, float]] = [{} for _ in range(nodes)]
        for (a, b), g in links.items():
            neighbours[a][b] = neighbours[b][a] = g
        junctions = [k for k in range(nodes) if k in pinned or len(neighbours[k]) > 2]
        self.chains = list(_walk(neighbours, junctions))
        self._junctions = np.array(junctions, np.intp)
        self.junction_index = {k: i for i, k in enumerate(junctions)}
        pairs = [
            (self.junction_index[r.start], self.junction_index[r.end], 1 / r.total_ohms)
            for r in self.chains
            if r.end is not None and r.end != r.start
        ]
        held = {self.junction_index[k] for k in pinned}
        plan = Elimination(len(junctions), [(a, b) for a, b, _ in pairs], held)
        siemens = np.zeros(max(1, plan.links))
        for a, b, g in pairs:
            siemens[plan.index(a, b)] += g
        self.junction_network = plan.factor(siemens)

    def solve(self, inflow: F, out: F | None = None) -> F:
        """Return V (T, nodes) for A put in at each node (T, nodes)."""
        volts = np.empty_like(inflow) if out is None else out
        at_junctions = inflow[:, self._junctions].T.copy()
        sums = [self._push(chain, inflow, at_junctions) for chain in self.chains]
        at = self.junction_network.solve(at_junctions)
        volts[:, self._junctions] = at.T
        for chain, (drop, current) in zip(self.chains, sums, strict=True):
            if not len(chain.nodes):
                continue
            here = at[self.junction_index[chain.start]]
            if chain.end is not None:
                current = current + (here - at[self.junction_index[chain.end]]) / chain.total_ohms
            along = current[:, None] * chain.cumulative_ohms
            along += drop[:, : len(chain.nodes)]
            if isinstance(chain.node_index, slice):
                np.subtract(here[:, None], along, out=volts[:, chain.node_index])
            else:
                volts[:, chain.node_index] = here[:, None] - along
        return volts

    def _push(self, chain: Chain, inflow: F, at_junctions: F) -> tuple[F, F]:
        """Put a run's inflow onto its joints.

        Returns
        -------
        drop, current
            V (T, links) that the inflow alone drops up to the end of each link, and A (T,) in the
            first link when both joints are at 0 V.
        """
        # Column j: what has joined the current of link j since the start.
        joined = np.empty((len(inflow), len(chain.link_ohms)))
        joined[:, 0] = 0
        own = inflow[:, chain.node_index]
        np.add.accumulate(own[:, : len(chain.link_ohms) - 1], axis=1, out=joined[:, 1:])
        drop = joined * chain.link_ohms
        np.add.accumulate(drop, axis=1, out=drop)
        start = at_junctions[self.junction_index[chain.start]]
        if chain.end is None:
            whole = joined[:, -1] + own[:, -1]
            start += whole
            return drop, -whole
        pushed = drop[:, -1] / chain.total_ohms
        start += pushed
        at_junctions[self.junction_index[chain.end]] += joined[:, -1] - pushed
        return drop, -pushed


def _walk(neighbours: list[dict[int, float]], junctions: list[int]) -> Iterator[Chain]:
    """Yield every run once, from the joint with the lower number."""
    is_junction = np.zeros(len(neighbours), bool)
    is_junction[junctions] = True
    seen = np.zeros(len(neighbours), bool)
    for start in junctions:
        for first, g in neighbours[start].items():
            if seen[first] or (is_junction[first] and first < start):
                continue
            nodes, link_ohms, before, here = [], [1 / g], start, first
            while not is_junction[here]:
                seen[here] = True
                nodes.append(here)
                ahead = [k for k in neighbours[here] if k != before]
                if not ahead:
                    break
                link_ohms.append(1 / neighbours[here][ahead[0]])
                before, here = here, ahead[0]
            end = here if is_junction[here] else None
            yield chain_of(start, nodes, end, np.array(link_ohms))


def chain_of(start: int, nodes: list[int], end: int | None, link_ohms: F) -> Chain:
    """Make a run."""
    cumulative_ohms = np.cumsum(link_ohms)
    return Chain(
        start,
        np.array(nodes, np.intp),
        end,
        link_ohms,
        cumulative_ohms[: len(nodes)],
        float(cumulative_ohms[-1]),
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
