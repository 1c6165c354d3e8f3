"""`ReducedNetwork`: a network solved chain by chain, its junctions by elimination.

Strategy: most nodes of a lighting network have two neighbours: they lie on a chain between two
junctions. Along a chain the current is a running sum of what is injected, and the voltage a running
sum of resistance times current, so a whole chain is a few array operations however many pixels it
has. To the rest of the network a chain is one resistor and two injected currents. What is left is
small, and is solved by elimination.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.power.circuit.elimination import Elimination

F = NDArray[np.float64]


class Chain(NamedTuple):
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
        self._nodes = nodes
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

    @property
    def junctions(self) -> int:
        """The number of junctions."""
        return len(self._junctions)

    @cached_property
    def stretch(self) -> NDArray[np.intp]:
        """The stretch (nodes,) that each node lies on: its chain, or by itself a junction."""
        found = np.zeros(self._nodes, np.intp)
        for number, chain in enumerate(self._chains):
            found[chain.node_index] = number
        found[self._junctions] = len(self._chains) + np.arange(len(self._junctions))
        return found

    @cached_property
    def stretch_ends(self) -> NDArray[np.intp]:
        """The junctions (stretches, 2) at the ends of each stretch, numbered as `at_junctions`."""
        own = [
            (self._index[c.start], self._index[c.start if c.end is None else c.end])
            for c in self._chains
        ]
        return np.array(own + [(j, j) for j in range(len(self._junctions))], np.intp)

    @cached_property
    def _places(self) -> NDArray[np.intp]:
        """Each node's place (nodes,) on its chain; 0 for a junction."""
        found = np.zeros(self._nodes, np.intp)
        for chain in self._chains:
            found[chain.node_index] = np.arange(len(chain.nodes))
        return found

    def inject_pairs(
        self, into: NDArray[np.intp], out: NDArray[np.intp], at_junctions: F
    ) -> dict[int, tuple[F, F]]:
        """Inject 1 A at nodes ``into`` (T,) and take it out at nodes ``out`` (T,).

        Adds what arrives to ``at_junctions`` (junctions, T), and returns what `volts_on` needs to
        know of each chain with such a node.
        """
        own: dict[int, F] = {}
        for nodes, amps in ((into, 1.0), (out, -1.0)):
            for row, (node, stretch) in enumerate(
                zip(nodes.tolist(), self.stretch[nodes].tolist(), strict=True)
            ):
                if stretch >= len(self._chains):
                    at_junctions[stretch - len(self._chains), row] += amps
                    continue
                if stretch not in own:
                    own[stretch] = np.zeros((len(into), len(self._chains[stretch].nodes)))
                own[stretch][row, self._places[node]] += amps
        return {n: self._inject(self._chains[n], amps, at_junctions) for n, amps in own.items()}

    def at_junctions(self, inflow: F) -> F:
        """Return V (junctions, T) for A injected at the junctions. ``inflow`` is modified."""
        return self._factorization.solve(inflow)

    def volts_on(
        self, stretch: int, nodes: NDArray[np.intp], at: F, injected: tuple[F, F] | None
    ) -> F:
        """Return V (T, n) at nodes of one stretch, from those at the junctions."""
        if stretch >= len(self._chains):
            own: F = at[stretch - len(self._chains)][:, None]
            return own
        chain = self._chains[stretch]
        drop, current = injected or (np.zeros((1, 1)), np.zeros(at.shape[1]))
        volts: F = self._along(chain, drop, current, at)[:, self._places[nodes]]
        return volts

    def solve(self, inflow: F, out: F | None = None) -> F:
        """Return V (T, nodes) for A injected at each node (T, nodes)."""
        volts = np.empty_like(inflow) if out is None else out
        at_junctions = inflow[:, self._junctions].T.copy()
        drops = [
            self._inject(chain, inflow[:, chain.node_index], at_junctions) for chain in self._chains
        ]
        at = self._factorization.solve(at_junctions)
        volts[:, self._junctions] = at.T
        for chain, (drop, current) in zip(self._chains, drops, strict=True):
            if isinstance(chain.node_index, slice):
                self._along(chain, drop, current, at, out=volts[:, chain.node_index])
            else:
                volts[:, chain.node_index] = self._along(chain, drop, current, at)
        return volts

    def _along(self, chain: Chain, drop: F, current: F, at: F, out: F | None = None) -> F:
        """Return V (T, n) along a chain, from those at its junctions."""
        start = at[self._index[chain.start]]
        if chain.end is not None:
            current = current + (start - at[self._index[chain.end]]) / chain.total_ohms
        along = np.multiply.outer(current, chain.cumulative_ohms)
        along += drop[:, : len(chain.nodes)]
        volts: F = np.subtract(start[:, None], along, out=along if out is None else out)
        return volts

    def _inject(self, chain: Chain, own: F, at_junctions: F) -> tuple[F, F]:
        """Add the currents (T, n) that are injected along a chain to its junctions.

        Returns
        -------
        drop, current
            V (T, links) that these currents alone drop from the start to the end of each link, and
            A (T,) in the first link with both junctions at 0 V.
        """
        # Column j: what has been injected between the start and link j.
        joined = np.empty((len(own), len(chain.link_ohms)))
        joined[:, 0] = 0
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
