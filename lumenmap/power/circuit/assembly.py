"""`build_wiring`: a house's wiring put together, line by line, as a circuit."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import show_length
from lumenmap.house.model import House
from lumenmap.house.supplies import Bus, Feed, Tap, Trunk
from lumenmap.parts.wires import Wire, wire
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.circuit.circuit import Circuit
from lumenmap.power.circuit.network import Network
from lumenmap.power.circuit.positions import (
    SAME_POSITION,
    LinePlaces,
    Place,
    all_feeds,
    distinct,
    line_places,
    tie_places,
)
from lumenmap.power.circuit.wiring import (
    POLARITIES,
    Conductor,
    ConductorKind,
    FusePoint,
    MissingCut,
    Owner,
    Polarity,
    PowerWiring,
)

F = NDArray[np.float64]

#: The least resistance of a conductor (ohm): far below any joint's, and the solver needs one.
MIN_OHMS = 1e-6


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
    """The nodes of a line: terminals of either conductor by m of string wire, rising."""

    places: LinePlaces
    positions: F
    terminals: dict[Polarity, list[int]] = field(default_factory=dict)

    def index(self, wire: float) -> int:
        return int(np.searchsorted(self.positions, wire - SAME_POSITION))

    def pair(self, place: Place) -> dict[Polarity, int]:
        return {p: self.terminals[p][self.index(place.wire)] for p in POLARITIES}


@dataclass(frozen=True, slots=True)
class _Source:
    """Where current comes into a line: from a feed or a tap."""

    supply: str
    name: str
    place: Place


class _Builder:
    def __init__(self, house: House, pixelmap: PixelMap) -> None:
        self.house, self.map = house, pixelmap
        self.string = house.string
        self.circuit = Circuit()
        self.conductors: list[Conductor] = []
        self.fuses: list[FusePoint] = []
        self.missing: list[MissingCut] = []
        self.joints: dict[str, list[tuple[int, float]]] = {}
        self.wires: dict[Owner, Wire] = {}
        self.together: dict[Owner, int] = {}
        self.places = line_places(house, pixelmap)
        self.feeds = all_feeds(house)
        self.supplies = {s.name: self.circuit.source(s.volts) for s in house.supplies}
        self.taps = [self._placed(t) for t in house.taps]

    def build(self) -> PowerWiring:
        self._require_lines()
        for name in self.places:
            self._add_line(name)
        network = _checked(self.circuit, self.map)
        return PowerWiring(
            network,
            self.feeds,
            self.house.trunks,
            tuple(self.taps),
            tuple(self.conductors),
            self.joints,
            self.wires,
            self.together,
            self.places,
            tuple(self.fuses),
            tuple(self.missing),
            self.house.wire_defaults,
        )

    def _require_lines(self) -> None:
        for kind, rows in (("feed", self.feeds), ("trunk", self.house.trunks)):
            for row in rows:
                key = f'{kind} "{row.name}"'
                if row.line not in self.places:
                    raise InputError(unknown("line", row.line, self.places), key=key)
                if row.supply not in self.supplies:
                    raise InputError(
                        unknown("supply", row.supply, self.supplies, plural="Supplies"),
                        key=f"{key}, supply",
                    )

    def _placed(self, tap: Tap) -> Tap:
        """Fill in where a tap connects: the connector nearest to its trunk's far end."""
        if tap.at:
            return tap
        trunk = self._trunk(tap)
        places = self.places[trunk.line]
        stop = places.at(trunk.stop, f'trunk "{trunk.name}", stop')
        near = places.nearest_connector(stop).connector
        known = self.string.pixels is not None
        text = f"connector {near}" if known else ("start" if near == 1 else "end")
        return replace(tap, at=text)

    def _trunk(self, tap: Tap) -> Trunk:
        names = {t.name: t for t in self.house.trunks}
        if tap.trunk not in names:
            raise InputError(unknown("trunk", tap.trunk, names), key=f'tap "{tap.name}", trunk')
        return names[tap.trunk]

    def _size(self, text: str, owner: Owner, key: str, together: int = 2) -> Wire:
        try:
            self.wires[owner] = wire(text)
        except InputError as error:
            raise error.at(key=key) from None
        self.together[owner] = together
        return self.wires[owner]

    def _add(self, ends: tuple[int, int], ohms: float, stretch: Conductor) -> Conductor:
        """Add a stretch of a conductor, whose resistor's number isn't known yet."""
        number = self.circuit.resistor(*ends, max(ohms, MIN_OHMS))
        self.conductors.append(replace(stretch, resistor=number))
        return self.conductors[-1]

    def _add_line(self, name: str) -> None:
        places, house = self.places[name], self.house
        span = places.span
        feeds = [
            (f, places.place(f.at, f'feed "{f.name}", at')) for f in self.feeds if f.line == name
        ]
        buses = [(b, tie_places(b, places)) for b in house.buses if b.line == name]
        trunks = [(t, self._tap_places(t, places)) for t in house.trunks if t.line == name]
        taps = [(tap, place) for _, rows in trunks for tap, place in rows]
        joined = [p for _, p in (*feeds, *taps)] + [p for _, ties in buses for p in ties]
        nodes = _LineNodes(
            places, distinct(np.concatenate([places.wire, [p.wire for p in joined]]))
        )
        self.joints[name] = sorted({(nodes.index(p.wire), p.along) for p in joined})
        for polarity in POLARITIES:
            nodes.terminals[polarity] = [self.circuit.node() for _ in nodes.positions]
        together = 2 + 2 * len(buses) + 2 * len(trunks)
        sources = [_Source(f.supply, f.name, p) for f, p in feeds]
        sources += [_Source(t.supply, tap.name, p) for t, rows in trunks for tap, p in rows]
        self._add_string(nodes, self._cuts(places, sources), together)
        for k in map(nodes.index, places.wire.tolist()):
            self.circuit.load(nodes.terminals["positive"][k], nodes.terminals["return"][k])
        for feed, place in feeds:
            self._add_feed(feed, nodes, place)
        for trunk, rows in trunks:
            self._add_trunk(trunk, rows, nodes, together)
        for bus, ties in buses:
            self._add_bus(bus, ties, nodes, together)
        assert span.count == len(places.wire)

    def _add_string(self, nodes: _LineNodes, cuts: list[float], together: int) -> None:
        name, defaults = nodes.places.span.name, self.house.wire_defaults
        size = self._size(defaults.string, ("string", name), "wiring.string", together)
        for i, (here, there) in enumerate(pairwise(nodes.positions.tolist())):
            connector, contact = self._contact(nodes.places, here, there)
            ohms = size.ohms(there - here, defaults.celsius) + contact
            at = nodes.places.along_at((here + there) / 2)
            for polarity in POLARITIES:
                if polarity == "positive" and any(here < cut <= there for cut in cuts):
                    continue
                own = nodes.terminals[polarity]
                stretch = Conductor("string", polarity, name, at, -1, i, connector)
                self._add((own[i], own[i + 1]), ohms, stretch)

    def _contact(self, places: LinePlaces, here: float, there: float) -> tuple[int | None, float]:
        """Return which connector between two strings a stretch holds, and its ohms.

        Where something joins at the connector, half of the contact is on either side of it.
        """
        for c in places.connectors[1:-1]:
            if here - SAME_POSITION <= c.wire <= there + SAME_POSITION:
                joined = min(abs(c.wire - here), abs(c.wire - there)) <= SAME_POSITION
                return c.connector, self.string.contact_ohms * (0.5 if joined else 1.0)
        return None, 0.0

    def _lead(
        self,
        kind: ConductorKind,
        owner: str,
        ends: dict[Polarity, tuple[int, int]],
        ohms: float,
        fuse: float | None,
        place: Place,
        number: int = 0,
    ) -> None:
        """Add both conductors of a feed, tap or tie, with what its fuse and connector resist."""
        plug = self.string.contact_ohms if place.connector else 0.0
        held = self.house.wire_defaults.contact_ohms if fuse is not None else 0.0
        for polarity in POLARITIES:
            total = ohms + plug + (held if polarity == "positive" else 0.0)
            lead = Conductor(kind, polarity, owner, place.along, -1, number, place.connector)
            made = self._add(ends[polarity], total, lead)
            if polarity == "positive":
                self.fuses.append(FusePoint(kind, owner, fuse, made))

    def _add_feed(self, feed: Feed, nodes: _LineNodes, place: Place) -> None:
        plus, minus = self.supplies[feed.supply]
        ohms = 0.0
        if feed.wire:
            size = self._size(feed.wire, ("feed", feed.name), f'feed "{feed.name}", wire')
            ohms = size.ohms(feed.length, self.house.wire_defaults.celsius)
        else:
            place = replace(place, connector=None)  # nothing is known of how it is connected
        line = nodes.pair(place)
        ends: dict[Polarity, tuple[int, int]] = {
            "positive": (plus, line["positive"]),
            "return": (line["return"], minus),
        }
        self._lead("feed", feed.name, ends, ohms, feed.fuse, place)

    def _tap_places(self, trunk: Trunk, places: LinePlaces) -> list[tuple[Tap, Place]]:
        """Return the taps of a trunk, in order from its start, and where they connect."""
        key, unit = f'trunk "{trunk.name}"', self.house.unit
        start = places.at(trunk.start, f"{key}, start")
        stop = places.at(trunk.stop, f"{key}, stop")
        low, high = min(start, stop), max(start, stop)
        found = []
        for tap in (t for t in self.taps if t.trunk == trunk.name):
            place = places.place(tap.at, f'tap "{tap.name}", at')
            beyond = max(low - place.along, place.along - high)
            if beyond > tap.length + 1e-3:
                raise InputError(
                    f"is {show_length(place.along, unit)} along the line, "
                    f"{show_length(beyond, unit)} beyond the trunk, and its wire is "
                    f"{show_length(tap.length, unit)} long; make the trunk or the tap longer",
                    key=f'tap "{tap.name}", at',
                )
            found.append((tap, place))
        return sorted(found, key=lambda pair: abs(min(max(pair[1].along, low), high) - start))

    def _add_trunk(
        self, trunk: Trunk, taps: list[tuple[Tap, Place]], nodes: _LineNodes, together: int
    ) -> None:
        hot, key = self.house.wire_defaults.celsius, f'trunk "{trunk.name}", wire'
        size = self._size(trunk.wire, ("trunk", trunk.name), key, together)
        places = nodes.places
        start, stop = places.place(trunk.start, key), places.place(trunk.stop, key)
        low, high = sorted((start.along, stop.along))
        here = {p: self.circuit.node() for p in POLARITIES}
        plus, minus = self.supplies[trunk.supply]
        ends: dict[Polarity, tuple[int, int]] = {
            "positive": (plus, here["positive"]),
            "return": (here["return"], minus),
        }
        ohms = size.ohms(trunk.length, hot)
        lead = replace(start, connector=None)
        self._lead("trunk", trunk.name, ends, ohms, trunk.fuse, lead)
        at, number = start.along, 0
        for tap, place in taps:
            leaves = min(max(place.along, low), high)
            if abs(leaves - at) > SAME_POSITION:
                number += 1
                here = self._extend(
                    trunk.name, here, size.ohms(abs(leaves - at), hot), number, at, leaves
                )
                at = leaves
            self._add_tap(tap, here, nodes, place)

    def _extend(
        self,
        trunk: str,
        here: dict[Polarity, int],
        ohms: float,
        number: int,
        at: float,
        leaves: float,
    ) -> dict[Polarity, int]:
        """Add the next stretch of a trunk; return its far end."""
        there = {p: self.circuit.node() for p in POLARITIES}
        for polarity in POLARITIES:
            a, b = here[polarity], there[polarity]
            ends = (a, b) if polarity == "positive" else (b, a)
            stretch = Conductor("trunk", polarity, trunk, (at + leaves) / 2, -1, number)
            self._add(ends, ohms, stretch)
        return there

    def _add_tap(
        self, tap: Tap, trunk: dict[Polarity, int], nodes: _LineNodes, place: Place
    ) -> None:
        size = self._size(tap.wire, ("tap", tap.name), f'tap "{tap.name}", wire')
        line = nodes.pair(place)
        ends: dict[Polarity, tuple[int, int]] = {
            "positive": (trunk["positive"], line["positive"]),
            "return": (line["return"], trunk["return"]),
        }
        ohms = size.ohms(tap.length, self.house.wire_defaults.celsius)
        self._lead("tap", tap.name, ends, ohms, tap.fuse, place)

    def _add_bus(self, bus: Bus, ties: list[Place], nodes: _LineNodes, together: int) -> None:
        size = self._size(bus.wire, ("bus", bus.name), f'bus "{bus.name}", wire', together)
        own: dict[Polarity, list[int]] = {}
        for polarity in POLARITIES:
            own[polarity] = [self.circuit.node() for _ in ties]
            for i, (here, there) in enumerate(pairwise(ties)):
                ohms = size.ohms(there.along - here.along, self.house.wire_defaults.celsius)
                at = (here.along + there.along) / 2
                stretch = Conductor("bus", polarity, bus.name, at, -1, i)
                self._add((own[polarity][i], own[polarity][i + 1]), ohms, stretch)
        for i, place in enumerate(ties):
            line = nodes.pair(place)
            ends: dict[Polarity, tuple[int, int]] = {p: (own[p][i], line[p]) for p in POLARITIES}
            self._lead("tie", bus.name, ends, 0.0, bus.tie_fuse, place, i)

    def _cuts(self, places: LinePlaces, sources: list[_Source]) -> list[float]:
        """Return where the positive is cut: as given, and between supplies without a given cut."""
        line = next(x for x in self.house.lines if x.name == places.span.name)
        cuts = [places.cut(c, f'line "{line.name}", cuts') for c in line.cuts]
        for one, two in pairwise(sorted(sources, key=lambda s: s.place.wire)):
            low, high = one.place.wire, two.place.wire
            if one.supply == two.supply or any(low < cut <= high for cut in cuts):
                continue
            cuts.append((low + high) / 2)
            before = places.pixel_before((low + high) / 2)
            self.missing.append(
                MissingCut(
                    line.name,
                    (one.supply, two.supply),
                    (one.name, two.name),
                    before,
                    places.along_at((low + high) / 2),
                )
            )
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
