"""Gaussian elimination of a resistor network, planned once and run for many frames at a time.

Strategy: taking a node out of a network leaves a smaller network (the star-mesh transform): each
pair of its neighbours gains the conductance gi·gj/Σg. All terms are positive, so nothing cancels
and the answer keeps its digits however thick or thin the wires. A string of pixels is a chain, so
taking the nodes with fewest neighbours first makes almost no new links. The plan (which node, which
neighbours) is worked out once; its arithmetic then runs over arrays whose last axis is frames.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]


class Elimination:
    """The plan for a network of ``nodes`` with some links; pinned nodes are at 0 V.

    Parameters
    ----------
    nodes
        How many.
    links
        Pairs of nodes that are or may be joined; repeated pairs are one link.
    pinned
        Nodes whose voltage is 0; each connected part has one.
    """

    def __init__(self, nodes: int, links: Iterable[tuple[int, int]], pinned: set[int]) -> None:
        self.nodes = nodes
        self._index: dict[tuple[int, int], int] = {}
        beside: list[set[int]] = [set() for _ in range(nodes)]
        for a, b in links:
            if a != b:
                self._link(a, b)
                beside[a].add(b)
                beside[b].add(a)
        self.steps: list[tuple[int, list[int], list[int], list[tuple[int, int, int]]]] = []
        self._plan(beside, pinned)

    def _link(self, a: int, b: int) -> int:
        pair = (a, b) if a < b else (b, a)
        return self._index.setdefault(pair, len(self._index))

    def index(self, a: int, b: int) -> int:
        """Return the number of the link between two nodes."""
        return self._index[(a, b) if a < b else (b, a)]

    @property
    def links(self) -> int:
        """How many links there are, those made on the way included."""
        return len(self._index)

    def _plan(self, beside: list[set[int]], pinned: set[int]) -> None:
        heap = [(len(beside[k]), k) for k in range(self.nodes) if k not in pinned]
        heapq.heapify(heap)
        gone = [False] * self.nodes
        while heap:
            degree, k = heapq.heappop(heap)
            if gone[k] or degree != len(beside[k]):
                continue
            gone[k] = True
            near = sorted(beside[k])
            for j in near:
                beside[j].discard(k)
            mesh = []
            for x, i in enumerate(near):
                for y in range(x + 1, len(near)):
                    j = near[y]
                    mesh.append((self._link(i, j), x, y))
                    beside[i].add(j)
                    beside[j].add(i)
            self.steps.append((k, near, [self._link(k, j) for j in near], mesh))
            for j in near:
                if j not in pinned:
                    heapq.heappush(heap, (len(beside[j]), j))

    def factor(self, conductance: F) -> Factorization:
        """Take all nodes out.

        Parameters
        ----------
        conductance
            (links, …) siemens of each link, 0 for those made on the way. Changed.
        """
        parts: list[tuple[int, list[int], list[F], F]] = []
        for k, near, links, mesh in self.steps:
            own = [conductance[link] for link in links]
            if not own:
                parts.append((k, near, [], conductance[:1].sum(axis=0) * 0))
                continue
            total = own[0].copy() if isinstance(own[0], np.ndarray) else own[0]
            for g in own[1:]:
                total = total + g
            part = [g / total for g in own]
            for link, x, y in mesh:
                conductance[link] += own[x] * part[y]
            parts.append((k, near, part, 1 / total))
        return Factorization(self.nodes, parts)


class Factorization:
    """A network taken apart, ready to give voltages for any currents put in."""

    def __init__(self, nodes: int, parts: list[tuple[int, list[int], list[F], F]]) -> None:
        self._nodes, self._parts = nodes, parts

    def solve(self, inflow: F) -> F:
        """Return V (nodes, T) for A put in at each node, (nodes, T). ``inflow`` is changed."""
        for k, near, part, _ in self._parts:
            own = inflow[k]
            for j, p in zip(near, part, strict=True):
                inflow[j] += p * own
        volts = np.zeros_like(inflow)
        for k, near, part, per_total in reversed(self._parts):
            own = volts[k]
            np.multiply(inflow[k], per_total, out=own)
            for j, p in zip(near, part, strict=True):
                own += p * volts[j]
        return volts
