"""`Strands`: the conductors of a house, added one by one to its circuit."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.house.model import House
from lumenmap.parts.wires import Wire, wire
from lumenmap.power.circuit.circuit import Circuit
from lumenmap.power.circuit.places import SAME_POSITION, LinePlaces, Place
from lumenmap.power.circuit.wiring import POLARITIES, Conductor, FusePoint, Owner, Polarity

F = NDArray[np.float64]
#: A terminal of the circuit for either conductor.
Pair = dict[Polarity, int]
#: Both ends of either conductor.
Ends = dict[Polarity, tuple[int, int]]

#: The least resistance of a conductor (ohm): far below any joint's, and the solver needs one.
MIN_OHMS = 1e-6


@dataclass(slots=True, eq=False)
class LineNodes:
    """The nodes of a line: terminals of either conductor by m of string wire, rising."""

    places: LinePlaces
    positions: F
    terminals: dict[Polarity, list[int]] = field(default_factory=dict)

    def index(self, wire: float) -> int:
        """Return the number of the node at so many m of string wire."""
        return int(np.searchsorted(self.positions, wire - SAME_POSITION))

    def pair(self, place: Place) -> Pair:
        """Return the terminals at a place."""
        return {p: self.terminals[p][self.index(place.wire)] for p in POLARITIES}


@dataclass(slots=True, eq=False)
class Strands:
    """The circuit of a house as it grows, and what each resistor in it stands for."""

    house: House
    circuit: Circuit = field(default_factory=Circuit)
    conductors: list[Conductor] = field(default_factory=list)
    fuses: list[FusePoint] = field(default_factory=list)
    wires: dict[Owner, Wire] = field(default_factory=dict)
    together: dict[Owner, int] = field(default_factory=dict)

    def ohms(self, size: Wire, metres: float) -> float:
        """Return the resistance of a length of one conductor, as warm as the house's copper is."""
        return size.ohms(metres, self.house.wire_defaults.celsius)

    def pair(self) -> Pair:
        """Add a node of either conductor."""
        return {p: self.circuit.node() for p in POLARITIES}

    def size(self, text: str, owner: Owner, key: str, together: int = 2) -> Wire:
        """Take note of the wire that something is made of; return it."""
        try:
            self.wires[owner] = wire(text)
        except InputError as error:
            raise error.at(key=key) from None
        self.together[owner] = together
        return self.wires[owner]

    def add(self, ends: tuple[int, int], ohms: float, stretch: Conductor) -> Conductor:
        """Add a stretch of a conductor, whose resistor's number isn't known yet."""
        number = self.circuit.resistor(*ends, max(ohms, MIN_OHMS))
        self.conductors.append(stretch._replace(resistor=number))
        return self.conductors[-1]

    def lead(
        self,
        lead: Conductor,
        ends: Ends,
        ohms: float,
        fuse: float | None,
    ) -> None:
        """Add both conductors of a feed, tap, tie or trunk's lead-in.

        Parameters
        ----------
        lead
            What it is; its resistor and polarity are filled in.
        ohms
            Of one conductor's wire; its fuse and its connector add theirs.
        """
        plug = self.house.string.contact_ohms if lead.connector else 0.0
        held = self.house.wire_defaults.contact_ohms if fuse is not None else 0.0
        self.add(ends["return"], ohms + plug, lead._replace(polarity="return"))
        made = self.add(ends["positive"], ohms + plug + held, lead._replace(polarity="positive"))
        self.fuses.append(FusePoint(lead.kind, lead.owner, fuse, made))
