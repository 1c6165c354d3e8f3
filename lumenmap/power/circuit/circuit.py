"""A circuit of wires, supplies and loads: nodes, resistors, ideal sources, one of each at a time.

A supply is one node with two ends: the voltage between them is given, so its plus end is its minus
end plus an offset. That keeps the equations those of a plain resistor network.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True)
class Circuit:
    """What is joined to what.

    A *terminal* is a number that `node` or `source` gives. Ohms are above 0.

    Attributes
    ----------
    nodes
        How many unknown voltages there are.
    root, offset
        For each terminal, its node and the V it lies above that node.
    resistors
        (terminal, terminal, ohm) each.
    loads
        (plus terminal, minus terminal) each.
    sources, plus_terminals
        The node of each source, and its plus terminal.
    """

    nodes: int = 0
    root: list[int] = field(default_factory=list)
    offset: list[float] = field(default_factory=list)
    resistors: list[tuple[int, int, float]] = field(default_factory=list)
    loads: list[tuple[int, int]] = field(default_factory=list)
    sources: list[int] = field(default_factory=list)
    plus_terminals: list[int] = field(default_factory=list)

    def node(self) -> int:
        """Add a node; return its terminal."""
        self.root.append(self.nodes)
        self.offset.append(0.0)
        self.nodes += 1
        return len(self.root) - 1

    def source(self, volts: float) -> tuple[int, int]:
        """Add an ideal source; return its plus and minus terminals."""
        minus = self.node()
        self.sources.append(self.root[minus])
        self.root.append(self.root[minus])
        self.offset.append(volts)
        self.plus_terminals.append(len(self.root) - 1)
        return len(self.root) - 1, minus

    def resistor(self, a: int, b: int, ohms: float) -> int:
        """Join two terminals; return the resistor's number."""
        if not ohms > 0:
            raise ValueError(f"a resistor of {ohms} ohm; wanted above 0")
        self.resistors.append((a, b, ohms))
        return len(self.resistors) - 1

    def load(self, plus: int, minus: int) -> int:
        """Hang a load between two terminals; return its number."""
        self.loads.append((plus, minus))
        return len(self.loads) - 1
