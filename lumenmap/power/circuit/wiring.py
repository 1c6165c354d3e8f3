"""`PowerWiring`: supplies, fuses, feeds, strings and buses of a house as a circuit.

Strategy: a line is two chains of nodes, one for the positive and one for the return conductor, with
a node wherever something connects: a pixel, a feed, a tie of a bus. The positives of two supplies
never meet: between neighbouring feeds from different supplies the positive is cut, half-way unless
the house file says where. The return isn't cut, since the data needs one ground.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.house.model import House
from lumenmap.house.supplies import Bus, Feed
from lumenmap.parts.wires import Wire, wire
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.power.circuit.circuit import Circuit
from lumenmap.power.circuit.network import Network
from lumenmap.power.circuit.positions import (
    SAME_POSITION,
    all_feeds,
    distinct,
    position_on_line,
    tie_positions,
)

F = NDArray[np.float64]
ConductorKind = Literal["feed", "string", "bus", "tie"]
Polarity = Literal["positive", "return"]

POLARITIES: tuple[Polarity, Polarity] = ("positive", "return")
#: The least resistance of a conductor (ohm): far below any joint's, and the solver needs one.
_MIN_OHMS = 1e-6


@dataclass(frozen=True, slots=True)
class Conductor:
    """A stretch of one conductor.

    Attributes
    ----------
    kind, polarity
        What it is part of; which of the two conductors.
    owner
        The feed, line or bus that it is part of.
    at
        The middle of the stretch, m along the line.
    resistor
        Its number in the circuit; current is positive from the supply outwards, or up the line.
    """

    kind: ConductorKind
    polarity: Polarity
    owner: str
    at: float
    resistor: int


@dataclass(frozen=True, eq=False)
class PowerWiring:
    """A house's wiring, ready to solve.

    Attributes
    ----------
    network
        The circuit; its loads are the pixels in the order of the map.
    feeds
        All feeds. Those added for lines without a feed in the house file have no wire.
    conductors
        Every stretch of every conductor.
    connections
        For each line, the m along it where feeds and ties connect.
    wires
        Wire size of each feed, line and bus by (kind, owner).
    """

    network: Network
    feeds: tuple[Feed, ...]
    conductors: tuple[Conductor, ...]
    connections: dict[str, list[float]]
    wires: dict[tuple[ConductorKind, str], Wire]

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

    def __repr__(self) -> str:
        """Return one line; see `feeds` and `wires` for what is in it."""
        return f"<PowerWiring: {len(self.feeds)} feeds, {len(self.conductors)} stretches of wire>"


def build_wiring(house: House, pixelmap: PixelMap) -> PowerWiring:
    """Build the circuit of a house.

    Raises
    ------
    InputError
        No supply, a line or pixels without a feed, the positives of two supplies connected, or a
        wire size or position that makes no sense.
    """
    if not house.supplies:
        raise InputError(
            "has no [[supply]], so the current a show may draw is unknown", file=house.file
        )
    try:
        return _Builder(house, pixelmap).build()
    except InputError as error:
        raise error.at(file=house.file) from None


@dataclass(slots=True, eq=False)
class _LineNodes:
    """The nodes of a line: terminals of either conductor by position (m along the line, rising)."""

    positions: F
    terminals: dict[Polarity, list[int]] = field(default_factory=dict)

    def index(self, at: float) -> int:
        return int(np.searchsorted(self.positions, at - SAME_POSITION))


class _Builder:
    def __init__(self, house: House, pixelmap: PixelMap) -> None:
        self.house, self.map = house, pixelmap
        self.circuit = Circuit()
        self.conductors: list[Conductor] = []
        self.connections: dict[str, list[float]] = {}
        self.wires: dict[tuple[ConductorKind, str], Wire] = {}
        self.feeds = all_feeds(house)
        self.supplies = {s.name: self.circuit.source(s.volts) for s in house.supplies}

    def build(self) -> PowerWiring:
        spans = {span.name: span for span in self.map.lines}
        for feed in self.feeds:
            if feed.line not in spans:
                raise InputError(unknown("line", feed.line, spans), key=f'feed "{feed.name}"')
        for span in self.map.lines:
            self._add_line(span)
        network = _checked(self.circuit, self.map)
        return PowerWiring(
            network, self.feeds, tuple(self.conductors), self.connections, self.wires
        )

    def _size(self, text: str, key: str) -> Wire:
        try:
            return wire(text)
        except InputError as error:
            raise error.at(key=key) from None

    def _add(
        self,
        ends: tuple[int, int],
        ohms: float,
        kind: ConductorKind,
        polarity: Polarity,
        owner: str,
        at: float,
    ) -> None:
        number = self.circuit.resistor(*ends, max(ohms, _MIN_OHMS))
        self.conductors.append(Conductor(kind, polarity, owner, at, number))

    def _add_line(self, span: LineSpan) -> None:
        unit = self.house.unit
        feeds = [f for f in self.feeds if f.line == span.name]
        fed_at = [position_on_line(f.at, span, unit, f'feed "{f.name}", at') for f in feeds]
        buses = [
            (b, list(tie_positions(b, span, unit))) for b in self.house.buses if b.line == span.name
        ]
        pixels = self.map.along_line[span.slice]
        connections = sorted({*fed_at, *(t for _, ties in buses for t in ties)})
        self.connections[span.name] = connections
        nodes = _LineNodes(distinct(np.concatenate([pixels, connections])))
        for polarity in POLARITIES:
            nodes.terminals[polarity] = [self.circuit.node() for _ in nodes.positions]
        self._add_string(span, nodes, self._cuts(span, feeds, fed_at))
        for i in map(nodes.index, pixels):
            self.circuit.load(nodes.terminals["positive"][i], nodes.terminals["return"][i])
        for feed, at in zip(feeds, fed_at, strict=True):
            self._add_feed(feed, nodes, at)
        for bus, ties in buses:
            self._add_bus(bus, ties, nodes)

    def _add_string(self, span: LineSpan, nodes: _LineNodes, cuts: list[float]) -> None:
        size = self._size(self.house.wire_defaults.string, "wiring.string")
        self.wires["string", span.name] = size
        for i, (here, there) in enumerate(pairwise(nodes.positions)):
            ohms = size.ohms(there - here, self.house.wire_defaults.celsius)
            for polarity in POLARITIES:
                if polarity == "positive" and any(here < cut <= there for cut in cuts):
                    continue
                own = nodes.terminals[polarity]
                middle = (here + there) / 2
                self._add((own[i], own[i + 1]), ohms, "string", polarity, span.name, middle)

    def _add_feed(self, feed: Feed, nodes: _LineNodes, at: float) -> None:
        defaults = self.house.wire_defaults
        if feed.supply not in self.supplies:
            raise InputError(
                unknown("supply", feed.supply, self.supplies, plural="Supplies"),
                key=f'feed "{feed.name}", supply',
            )
        plus, minus = self.supplies[feed.supply]
        ohms = 0.0
        if feed.wire:
            size = self._size(feed.wire, f'feed "{feed.name}", wire')
            self.wires["feed", feed.name] = size
            ohms = size.ohms(feed.length, defaults.celsius)
        contact = defaults.contact_ohms if feed.fuse is not None else 0.0
        positive, back = (nodes.terminals[p][nodes.index(at)] for p in POLARITIES)
        self._add((plus, positive), ohms + contact, "feed", "positive", feed.name, at)
        self._add((back, minus), ohms, "feed", "return", feed.name, at)

    def _add_bus(self, bus: Bus, ties: list[float], nodes: _LineNodes) -> None:
        size = self._size(bus.wire, f'bus "{bus.name}", wire')
        self.wires["bus", bus.name] = size
        for polarity in POLARITIES:
            own = [self.circuit.node() for _ in ties]
            for ends, (here, there) in zip(pairwise(own), pairwise(ties), strict=True):
                ohms = size.ohms(there - here, self.house.wire_defaults.celsius)
                self._add(ends, ohms, "bus", polarity, bus.name, (here + there) / 2)
            for node, at in zip(own, ties, strict=True):
                line_node = nodes.terminals[polarity][nodes.index(at)]
                self._add((node, line_node), 0.0, "tie", polarity, bus.name, at)

    def _cuts(self, span: LineSpan, feeds: list[Feed], fed_at: list[float]) -> list[float]:
        """Return where the positive is cut: as given, and between supplies without a given cut."""
        line = next(x for x in self.house.lines if x.name == span.name)
        key = f'line "{line.name}", cuts'
        cuts = [position_on_line(c, span, self.house.unit, key) for c in line.cuts]
        order = sorted(range(len(feeds)), key=lambda i: fed_at[i])
        for i, j in pairwise(order):
            apart = feeds[i].supply != feeds[j].supply
            if apart and not any(fed_at[i] < cut <= fed_at[j] for cut in cuts):
                cuts.append((fed_at[i] + fed_at[j]) / 2)
        return cuts


def _checked(circuit: Circuit, pixelmap: PixelMap) -> Network:
    """Refuse pixels without a feed, and the positives of two supplies connected."""
    network = Network(circuit)
    if (unfed := network.unfed_loads()).any():
        first = int(np.flatnonzero(unfed)[0])
        line = pixelmap.lines[int(pixelmap.line[first])]
        raise InputError(
            f"{int(unfed.sum())} pixels, from pixel {first - line.first + 1} on, have no feed on "
            "their side of a cut",
            key=f'line "{line.name}"',
        )
    for a, b in network.joined_sources():
        raise InputError(
            f"the positives of supplies {a + 1} and {b + 1} of the file are connected by a line or "
            "a bus; cut the positive between them, and never connect two supplies' positives"
        )
    return network
