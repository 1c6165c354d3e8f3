"""Gaussian elimination of a resistor network, planned once and run for many frames at a time.

Strategy: eliminating a node leaves a smaller network (the star-mesh transform): each pair of its
neighbours gains the conductance gi·gj/Σg. All terms are positive, so nothing cancels and no digits
are lost, however thick or thin the wires. A string of pixels is a chain, so eliminating the nodes
with the fewest neighbours first adds almost no links. The order is planned once; the arithmetic
then runs over arrays whose last axis is frames.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]


class Elimination:
    """The order in which to eliminate the nodes of a network.

    Parameters
    ----------
    nodes
        The number of nodes.
    links
        Pairs of nodes that are or may be connected; repeated pairs are one link.
    pinned
        Nodes held at 0 V; each connected component has one.
    """

    def __init__(self, nodes: int, links: Iterable[tuple[int, int]], pinned: set[int]) -> None:
        self.nodes = nodes
        self._index: dict[tuple[int, int], int] = {}
        neighbours: list[set[int]] = [set() for _ in range(nodes)]
        for a, b in links:
            if a != b:
                self._link(a, b)
                neighbours[a].add(b)
                neighbours[b].add(a)
        self.steps: list[tuple[int, list[int], list[int], list[tuple[int, int, int]]]] = []
        self._plan(neighbours, pinned)

    def _link(self, a: int, b: int) -> int:
        pair = (a, b) if a < b else (b, a)
        return self._index.setdefault(pair, len(self._index))

    def index(self, a: int, b: int) -> int:
        """Return the number of the link between two nodes."""
        return self._index[(a, b) if a < b else (b, a)]

    @property
    def links(self) -> int:
        """The number of links, including those that elimination adds."""
        return len(self._index)

    def _plan(self, neighbours: list[set[int]], pinned: set[int]) -> None:
        heap = [(len(neighbours[k]), k) for k in range(self.nodes) if k not in pinned]
        heapq.heapify(heap)
        done = [False] * self.nodes
        while heap:
            degree, k = heapq.heappop(heap)
            if done[k] or degree != len(neighbours[k]):
                continue
            done[k] = True
            others = sorted(neighbours[k])
            for j in others:
                neighbours[j].discard(k)
            mesh = []
            for x, i in enumerate(others):
                for y in range(x + 1, len(others)):
                    j = others[y]
                    mesh.append((self._link(i, j), x, y))
                    neighbours[i].add(j)
                    neighbours[j].add(i)
            self.steps.append((k, others, [self._link(k, j) for j in others], mesh))
            for j in others:
                if j not in pinned:
                    heapq.heappush(heap, (len(neighbours[j]), j))

    def factor(self, conductance: F) -> Factorization:
        """Eliminate all nodes but the pinned ones.

        Parameters
        ----------
        conductance
            (links, …) siemens of each link, 0 for those that elimination adds. Modified.
        """
        parts: list[tuple[int, list[int], list[F], F]] = []
        for k, others, links, mesh in self.steps:
            own = [conductance[link] for link in links]
            if not own:
                parts.append((k, others, [], conductance[:1].sum(axis=0) * 0))
                continue
            total = own[0].copy() if isinstance(own[0], np.ndarray) else own[0]
            for g in own[1:]:
                total = total + g
            part = [g / total for g in own]
            for link, x, y in mesh:
                conductance[link] += own[x] * part[y]
            parts.append((k, others, part, 1 / total))
        return Factorization(self.nodes, parts)


class Factorization:
    """A network after elimination, ready to solve for any injected currents."""

    def __init__(self, nodes: int, parts: list[tuple[int, list[int], list[F], F]]) -> None:
        self._nodes, self._parts = nodes, parts

    def solve(self, inflow: F) -> F:
        """Return V (nodes, T) for A injected at each node, (nodes, T). ``inflow`` is modified."""
        for k, others, part, _ in self._parts:
            own = inflow[k]
            for j, p in zip(others, part, strict=True):
                inflow[j] += p * own
        volts = np.zeros_like(inflow)
        for k, others, part, per_total in reversed(self._parts):
            own = volts[k]
            np.multiply(inflow[k], per_total, out=own)
            for j, p in zip(others, part, strict=True):
                own += p * volts[j]
        return volts
