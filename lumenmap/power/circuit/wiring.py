"""`PowerWiring`: supplies, fuses, feeds, trunks, strings and buses of a house as a circuit.

Strategy: a line is two chains of nodes, one for the positive and one for the return conductor, with
a node wherever something connects: a pixel, a feed, a tap, a tie of a bus. The positives of two
supplies never meet: between neighbouring feeds from different supplies the positive is cut,
half-way unless the house file says where. The return isn't cut, since the data needs one ground.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

from lumenmap.house.supplies import Feed, Tap, Trunk, WireDefaults
from lumenmap.parts.wires import Wire
from lumenmap.power.circuit.network import Network
from lumenmap.power.circuit.places import LinePlaces

ConductorKind = Literal["feed", "string", "bus", "tie", "trunk", "tap"]
Polarity = Literal["positive", "return"]
#: A wire: what it is, and the name of the feed, line, bus, trunk or tap that it is part of.
Owner = tuple[ConductorKind, str]

POLARITIES: tuple[Polarity, Polarity] = ("positive", "return")


class Conductor(NamedTuple):
    """A stretch of one conductor.

    Attributes
    ----------
    kind, polarity
        What it is part of; which of the two conductors.
    owner
        The feed, line, bus, trunk or tap that it is part of.
    at
        The middle of the stretch, m along the line.
    resistor
        Its number in the circuit; current is positive from the supply outwards, or up the line.
    number
        Which stretch of its owner it is, from 0. String: that from the line's node of this number;
        bus: that from the tie of this number; tie: its number; trunk: 0 is the lead-in.
    connector
        The number of the connector whose contact is in it, if one is.
    """

    kind: ConductorKind
    polarity: Polarity
    owner: str
    at: float
    resistor: int
    number: int = 0
    connector: int | None = None


class FusePoint(NamedTuple):
    """Where a fuse is, or should be: the supply end of a feed or trunk; a tap; a tie.

    ``amps`` is None without a fuse; ``conductor`` is the positive conductor that it is in.
    """

    kind: ConductorKind
    owner: str
    amps: float | None
    conductor: Conductor


@dataclass(frozen=True, eq=False)
class PowerWiring:
    """A house's wiring, ready to solve.

    Attributes
    ----------
    network
        The circuit; its loads are the pixels in the order of the map.
    feeds, trunks, taps
        All of them. Feeds added for lines without one in the house file have no wire. A tap's
        ``at`` is filled in if the file leaves it out.
    conductors
        Every stretch of every conductor.
    joints
        For each line, the numbers of its nodes where feeds, taps and ties connect, and m along it.
    wires
        Wire size of each feed, line, bus, trunk and tap by (kind, owner).
    together
        How many conductors that carry current are counted in one pipe with each, by (kind, owner).
    places
        The places of each line.
    fuses
        Every place for a fuse.
    defaults
        What applies to all wire.
    """

    network: Network
    feeds: tuple[Feed, ...]
    trunks: tuple[Trunk, ...]
    taps: tuple[Tap, ...]
    conductors: tuple[Conductor, ...]
    joints: dict[str, list[tuple[int, float]]]
    wires: dict[Owner, Wire]
    together: dict[Owner, int]
    places: dict[str, LinePlaces]
    fuses: tuple[FusePoint, ...]
    defaults: WireDefaults

    @cached_property
    def by_owner(self) -> dict[tuple[ConductorKind, str, Polarity], list[Conductor]]:
        """The stretches of each conductor, in order along the line."""
        found: dict[tuple[ConductorKind, str, Polarity], list[Conductor]] = {}
        for c in self.conductors:
            found.setdefault((c.kind, c.owner, c.polarity), []).append(c)
        return found

    def of(self, kind: ConductorKind, owner: str, polarity: Polarity) -> list[Conductor]:
        """Return the stretches of one conductor, in order along the line."""
        return self.by_owner.get((kind, owner, polarity), [])

    def may_carry(self, kind: ConductorKind, owner: str) -> float:
        """Return the A that a wire may carry: by the house's table, for heat and for bundling.

        Raises
        ------
        InputError
            No such table, or no row for the wire; air as hot as the insulation may get.
        """
        together = self.together.get((kind, owner), 2)
        return self.defaults.may_carry(self.wires[kind, owner], together)

    def sources(self, supply: str) -> list[Conductor]:
        """Return the positive conductors through which a supply gives its current."""
        feeds = [self.of("feed", f.name, "positive")[0] for f in self.feeds if f.supply == supply]
        trunks = [
            self.of("trunk", t.name, "positive")[0] for t in self.trunks if t.supply == supply
        ]
        return feeds + trunks

    def behind(self, fuse: FusePoint) -> list[Owner]:
        """Return the wires that a fault can draw on through this fuse and no other.

        That is its own wire, and what its far end reaches over positive conductors without another
        fuse in them. A tie's fuse has two far ends.
        """
        plus, ends = set(self.network.plus_terminals), self.network.terminals
        fused = {f.conductor.resistor for f in self.fuses if f.amps is not None}
        at = fuse.conductor.resistor
        start = set(ends[at] if fuse.kind == "tie" else ends[at][1:]) - plus
        seen, reached, ahead = {at}, start, list(start)
        found: dict[Owner, None] = {(fuse.kind, fuse.owner): None}
        while ahead:
            here = ahead.pop()
            for c in self._meeting.get(here, ()):
                if c.resistor in seen or c.resistor in fused:
                    continue
                seen.add(c.resistor)
                found[c.kind, c.owner] = None
                new = set(ends[c.resistor]) - reached - plus
                reached |= new
                ahead += new
        return [owner for owner in found if owner in self.wires]

    @cached_property
    def _meeting(self) -> dict[int, list[Conductor]]:
        """The positive conductors that meet at each terminal."""
        found: dict[int, list[Conductor]] = {}
        for c in self.conductors:
            if c.polarity == "positive":
                for end in self.network.terminals[c.resistor]:
                    found.setdefault(end, []).append(c)
        return found

    def thinnest(self, owners: Iterable[Owner]) -> Owner:
        """Return the wire that may carry least."""
        return min(owners, key=lambda owner: self.may_carry(*owner))

    def __repr__(self) -> str:
        """Return one line; see `feeds` and `wires` for what is in it."""
        return f"<PowerWiring: {len(self.feeds)} feeds, {len(self.conductors)} stretches of wire>"
