"""A house's wiring as a circuit: supplies, fuses, feeds, strings, buses, each conductor by itself.

Strategy: a line is two chains of nodes, one for the positive and one for the return conductor, with
a node wherever something joins: a pixel, a feed, a tie of a bus. Positives of two supplies never
meet: between neighbouring feeds from different supplies the positive is cut, half-way unless the
house file says where; the returns run on, since the data needs one ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

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
    SAME,
    all_feeds,
    distinct,
    position_on_line,
    tie_positions,
)

F = NDArray[np.float64]

#: The least resistance of anything (ohm): a joint is never below it, and the solve needs one.
_LEAST = 1e-6


@dataclass(frozen=True, slots=True)
class Conductor:
    """One stretch of one conductor.

    Attributes
    ----------
    resistor
        Its number in the circuit; current is positive from the supply outwards, or up the line.
    kind
        ``feed``, ``string``, ``bus`` or ``tie``.
    side
        ``out`` (positive) or ``back`` (return).
    owner
        The feed, line or bus it is part of.
    at
        m along the line, the middle of the stretch.
    """

    resistor: int
    kind: str
    side: str
    owner: str
    at: float


@dataclass(frozen=True, slots=True, eq=False)
class PowerWiring:
    """A house's wiring, ready to solve.

    Attributes
    ----------
    network
        The circuit; its loads are the pixels in the order of the map.
    feeds
        All feeds; those made up for lines that the house file feeds by nothing have no wire.
    conductors
        Every stretch of wire.
    joins
        For each line, the m along it where feeds and ties join.
    wires
        Wire size of each feed, line and bus by (kind, owner).
    """

    network: Network
    feeds: tuple[Feed, ...]
    conductors: tuple[Conductor, ...]
    connections: dict[str, list[float]]
    wires: dict[tuple[str, str], Wire]

    def __repr__(self) -> str:
        """Count feeds and conductors, in one line."""
        return f"<Wired: {len(self.feeds)} feeds, {len(self.conductors)} stretches of conductor>"

    def of(self, kind: str, owner: str, side: str) -> list[Conductor]:
        """Return the stretches of one conductor, in order along the line."""
        return [c for c in self.conductors if (c.kind, c.owner, c.side) == (kind, owner, side)]


def build_wiring(house: House, pixelmap: PixelMap) -> PowerWiring:
    """Make the circuit of a house.

    Raises
    ------
    InputError
        No supply, a line or pixels that nothing feeds, two supplies on one positive, a wire size
        or a place on a line that makes no sense.
    """
    if not house.supplies:
        raise InputError(
            "has no [[supply]], so nothing tells how many amps the show may draw", file=house.file
        )
    try:
        return _Builder(house, pixelmap).build()
    except InputError as error:
        raise error.at(file=house.file) from None


class _Builder:
    def __init__(self, house: House, pixelmap: PixelMap) -> None:
        self.house, self.map = house, pixelmap
        self.circuit = Circuit()
        self.conductors: list[Conductor] = []
        self.connections: dict[str, list[float]] = {}
        self.wires: dict[tuple[str, str], Wire] = {}
        self.feeds = all_feeds(house)
        self.supplies = {s.name: self.circuit.source(s.volts) for s in house.supplies}
        self.positive: dict[int, int] = {}

    def build(self) -> PowerWiring:
        spans = {span.name: span for span in self.map.lines}
        for feed in self.feeds:
            if feed.line not in spans:
                raise InputError(unknown("line", feed.line, spans), key=f'feed "{feed.name}"')
        for span in self.map.lines:
            self._line(span)
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
        self, a: int, b: int, ohms: float, kind: str, side: str, owner: str, at: float
    ) -> None:
        number = self.circuit.resistor(a, b, max(ohms, _LEAST))
        self.conductors.append(Conductor(number, kind, side, owner, at))

    def _line(self, span: LineSpan) -> None:
        unit = self.house.unit
        feeds = [f for f in self.feeds if f.line == span.name]
        spots = [position_on_line(f.at, span, unit, f'feed "{f.name}", at') for f in feeds]
        buses = [
            (b, list(tie_positions(b, span, unit))) for b in self.house.buses if b.line == span.name
        ]
        cuts = self._cuts(span, feeds, spots)
        pixels = self.map.along_line[span.slice]
        connections = sorted({*spots, *(t for _, ties in buses for t in ties)})
        self.connections[span.name] = connections
        places = distinct(np.concatenate([pixels, connections]))
        out = [self.circuit.node() for _ in places]
        back = [self.circuit.node() for _ in places]
        size = self._size(self.house.wire_defaults.string, "wiring.string")
        self.wires["string", span.name] = size
        for i, (here, there) in enumerate(pairwise(places)):
            ohms = size.ohms(there - here, self.house.wire_defaults.celsius)
            middle = (here + there) / 2
            # The positive is left out where it is cut; the return runs on.
            if not any(here < cut <= there for cut in cuts):
                self._add(out[i], out[i + 1], ohms, "string", "out", span.name, middle)
            self._add(back[i], back[i + 1], ohms, "string", "back", span.name, middle)
        for spot in np.searchsorted(places, pixels - SAME):
            self.circuit.load(out[spot], back[spot])
        for feed, spot in zip(feeds, spots, strict=True):
            self._feed(feed, out, back, int(np.searchsorted(places, spot - SAME)), spot)
        for bus, ties in buses:
            self._bus(bus, ties, out, back, places)

    def _feed(self, feed: Feed, out: list[int], back: list[int], i: int, at: float) -> None:
        wiring = self.house.wire_defaults
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
            ohms = size.ohms(feed.length, wiring.celsius)
        contact = wiring.contact_ohms if feed.fuse is not None else 0.0
        self._add(plus, out[i], ohms + contact, "feed", "out", feed.name, at)
        self._add(back[i], minus, ohms, "feed", "back", feed.name, at)

    def _bus(self, bus: Bus, ties: list[float], out: list[int], back: list[int], places: F) -> None:
        size = self._size(bus.wire, f'bus "{bus.name}", wire')
        self.wires["bus", bus.name] = size
        for side, chain in (("out", out), ("back", back)):
            nodes = [self.circuit.node() for _ in ties]
            for a, b, here, there in zip(nodes, nodes[1:], ties, ties[1:], strict=False):
                ohms = size.ohms(there - here, self.house.wire_defaults.celsius)
                self._add(a, b, ohms, "bus", side, bus.name, (here + there) / 2)
            for node, at in zip(nodes, ties, strict=True):
                i = int(np.searchsorted(places, at - SAME))
                self._add(node, chain[i], 0.0, "tie", side, bus.name, at)

    def _cuts(self, span: LineSpan, feeds: list[Feed], spots: list[float]) -> list[float]:
        """Return where the positive is cut: as given, and between supplies where nothing is."""
        line = next(x for x in self.house.lines if x.name == span.name)
        cuts = [
            position_on_line(c, span, self.house.unit, f'line "{line.name}", cuts')
            for c in line.cuts
        ]
        order = sorted(range(len(feeds)), key=lambda i: spots[i])
        for i, j in pairwise(order):
            apart = feeds[i].supply != feeds[j].supply
            if apart and not any(spots[i] < cut <= spots[j] for cut in cuts):
                cuts.append((spots[i] + spots[j]) / 2)
        return cuts


def _checked(circuit: Circuit, pixelmap: PixelMap) -> Network:
    """Refuse pixels that hang on nothing, and positives of two supplies that meet."""
    network = Network(circuit)
    if (loose := network.unfed_loads()).any():
        first = int(np.flatnonzero(loose)[0])
        line = pixelmap.lines[int(pixelmap.line[first])]
        raise InputError(
            f"{int(loose.sum())} pixels, from number {first - line.first + 1} of the line, have no "
            "feed on their side of a cut",
            key=f'line "{line.name}"',
        )
    for a, b in network.joined_sources():
        raise InputError(
            f"the positives of supplies {a + 1} and {b + 1} of the file are joined by a line or a "
            "bus; cut the positive between them, never tie two supplies' positives together"
        )
    return network
