"""`Circuit`: wires, supplies and loads, added one by one as nodes, resistors and ideal sources.

A supply is one node with two terminals: the voltage between them is given, so its plus terminal is
its minus terminal plus an offset. So the equations are those of a resistor network.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True)
class Circuit:
    """What is connected to what.

    A *terminal* is a number that `node` or `source` returns. Resistance is above 0.

    Attributes
    ----------
    nodes
        The number of unknown voltages.
    root, offset
        For each terminal, its node, and its voltage above that node (V).
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
        """Connect two terminals; return the resistor's number.

        Raises
        ------
        ValueError
            The resistance isn't above 0.
        """
        if not ohms > 0:
            raise ValueError(f"resistance is {ohms} ohm; expected above 0")
        self.resistors.append((a, b, ohms))
        return len(self.resistors) - 1

    def load(self, plus: int, minus: int) -> int:
        """Add a load between two terminals; return its number."""
        self.loads.append((plus, minus))
        return len(self.loads) - 1
