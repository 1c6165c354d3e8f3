"""`ReducedNetwork`: a network solved chain by chain, its junctions by elimination.

Strategy: most nodes of a lighting network have two neighbours: they lie on a chain between two
junctions. Along a chain the current is a running sum of what is injected, and the voltage a running
sum of resistance times current, so a whole chain is a few array operations however many pixels it
has. To the rest of the network a chain is one resistor and two injected currents. What is left is
small, and is solved by elimination.
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
    """Nodes in series, from a junction on.

    Attributes
    ----------
    start, end
        The junctions at its ends; ``end`` is None for a chain that ends at its last node.
    nodes
        (n,) its nodes in order.
    link_ohms
        Resistance of each link: from ``start`` to the first node, …, to ``end``.
    cumulative_ohms
        (n,) from ``start`` to each node.
    total_ohms
        Of the whole chain.
    node_index
        The nodes as a slice if they are numbered in order, which needs no copying.
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
        The number of nodes.
    links
        Siemens by pair of nodes, the lower number first.
    pinned
        Nodes held at 0 V; each connected component has one.
    """

    def __init__(self, nodes: int, links: dict[tuple[int, int], float], pinned: set[int]) -> None:
        neighbours: list[dict[int, float]] = [{} for _ in range(nodes)]
        for (a, b), g in links.items():
            neighbours[a][b] = neighbours[b][a] = g
        junctions = [k for k in range(nodes) if k in pinned or len(neighbours[k]) > 2]
        self._chains = list(_chains(neighbours, junctions))
        self._junctions = np.array(junctions, np.intp)
        self._index = {k: i for i, k in enumerate(junctions)}
        pairs = [
            (self._index[c.start], self._index[c.end], 1 / c.total_ohms)
            for c in self._chains
            if c.end is not None and c.end != c.start
        ]
        plan = Elimination(
            len(junctions), [(a, b) for a, b, _ in pairs], {self._index[k] for k in pinned}
        )
        siemens = np.zeros(max(1, plan.links))
        for a, b, g in pairs:
            siemens[plan.index(a, b)] += g
        self._factorization = plan.factor(siemens)

    def solve_few(self, inflow: F) -> F:
        """Return the same as `solve`, quicker if A are injected at a few nodes of many.

        Supplies hold their own voltage, so what is injected in one string reaches no other.
        """
        volts = np.zeros_like(inflow)
        at_junctions = inflow[:, self._junctions].T.copy()
        drops = {
            number: self._inject(chain, inflow, at_junctions)
            for number, chain in enumerate(self._chains)
            if len(chain.nodes) and inflow[:, chain.node_index].any()
        }
        at = self._factorization.solve(at_junctions)
        volts[:, self._junctions] = at.T
        reached: NDArray[np.bool_] = np.any(at != 0, axis=1)
        for number, chain in enumerate(self._chains):
            ends = [self._index[end] for end in (chain.start, chain.end) if end is not None]
            if not len(chain.nodes) or not (number in drops or any(reached[end] for end in ends)):
                continue
            drop = drops.get(number) or self._inject(chain, inflow, at_junctions)
            self._spread(chain, *drop, at, volts)
        return volts

    def solve(self, inflow: F, out: F | None = None) -> F:
        """Return V (T, nodes) for A injected at each node (T, nodes)."""
        volts = np.empty_like(inflow) if out is None else out
        at_junctions = inflow[:, self._junctions].T.copy()
        drops = [self._inject(chain, inflow, at_junctions) for chain in self._chains]
        at = self._factorization.solve(at_junctions)
        volts[:, self._junctions] = at.T
        for chain, (drop, current) in zip(self._chains, drops, strict=True):
            if len(chain.nodes):
                self._spread(chain, drop, current, at, volts)
        return volts

    def _spread(self, chain: Chain, drop: F, current: F, at: F, volts: F) -> None:
        """Fill in V (T, nodes) along a chain, from those at its junctions."""
        start = at[self._index[chain.start]]
        if chain.end is not None:
            current = current + (start - at[self._index[chain.end]]) / chain.total_ohms
        along = current[:, None] * chain.cumulative_ohms
        along += drop[:, : len(chain.nodes)]
        if isinstance(chain.node_index, slice):
            np.subtract(start[:, None], along, out=volts[:, chain.node_index])
        else:
            volts[:, chain.node_index] = start[:, None] - along

    def _inject(self, chain: Chain, inflow: F, at_junctions: F) -> tuple[F, F]:
        """Add a chain's injected currents to its junctions.

        Returns
        -------
        drop, current
            V (T, links) that these currents alone drop from the start to the end of each link, and
            A (T,) in the first link with both junctions at 0 V.
        """
        # Column j: what has been injected between the start and link j.
        joined = np.empty((len(inflow), len(chain.link_ohms)))
        joined[:, 0] = 0
        own = inflow[:, chain.node_index]
        np.add.accumulate(own[:, : len(chain.link_ohms) - 1], axis=1, out=joined[:, 1:])
        drop = joined * chain.link_ohms
        np.add.accumulate(drop, axis=1, out=drop)
        start = at_junctions[self._index[chain.start]]
        if chain.end is None:
            whole = joined[:, -1] + own[:, -1]
            start += whole
            return drop, -whole
        part = drop[:, -1] / chain.total_ohms
        start += part
        at_junctions[self._index[chain.end]] += joined[:, -1] - part
        return drop, -part


def _chains(neighbours: list[dict[int, float]], junctions: list[int]) -> Iterator[Chain]:
    """Yield every chain once, from the junction with the lower number."""
    is_junction = np.zeros(len(neighbours), bool)
    is_junction[junctions] = True
    seen = np.zeros(len(neighbours), bool)
    for start in junctions:
        for first, g in neighbours[start].items():
            if seen[first] or (is_junction[first] and first < start):
                continue
            nodes, ohms, before, here = [], [1 / g], start, first
            while not is_junction[here]:
                seen[here] = True
                nodes.append(here)
                ahead = [k for k in neighbours[here] if k != before]
                if not ahead:
                    break
                ohms.append(1 / neighbours[here][ahead[0]])
                before, here = here, ahead[0]
            end = here if is_junction[here] else None
            yield _chain(start, nodes, end, np.array(ohms))


def _chain(start: int, nodes: list[int], end: int | None, link_ohms: F) -> Chain:
    cumulative = np.cumsum(link_ohms)
    return Chain(
        start,
        np.array(nodes, np.intp),
        end,
        link_ohms,
        cumulative[: len(nodes)],
        float(cumulative[-1]),
        _as_slice(nodes),
    )


def _as_slice(nodes: Sequence[int]) -> slice | NDArray[np.intp]:
    """Return numbers as a slice if they rise or fall by one, otherwise as an array."""
    first, count = (nodes[0], len(nodes)) if len(nodes) else (0, 0)
    if list(nodes) == list(range(first, first + count)):
        return slice(first, first + count)
    if list(nodes) == list(range(first, first - count, -1)):
        return slice(first, first - count if first >= count else None, -1)
    return np.array(nodes, np.intp)
