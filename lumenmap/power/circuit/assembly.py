"""`build_wiring`: a house's wiring put together, line by line, as a circuit."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from lumenmap.core.errors import InputError, unknown
from lumenmap.house.model import House
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.circuit.leads import (
    Source,
    add_bus,
    add_feed,
    add_trunk,
    placed_taps,
    tap_places,
)
from lumenmap.power.circuit.network import Network
from lumenmap.power.circuit.places import SAME_POSITION, LinePlaces, line_places
from lumenmap.power.circuit.positions import all_feeds, distinct, tie_places
from lumenmap.power.circuit.strands import LineNodes, Strands
from lumenmap.power.circuit.wiring import POLARITIES, Conductor, PowerWiring


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
        wiring = _Builder(house, pixelmap).build()
        _check(wiring.network, house, pixelmap)
    except InputError as error:
        raise error.at(file=house.file) from None
    return wiring


class _Builder:
    def __init__(self, house: House, pixelmap: PixelMap) -> None:
        self.house, self.map = house, pixelmap
        self.strands = Strands(house)
        self.joints: dict[str, list[tuple[int, float]]] = {}
        self.places = line_places(house, pixelmap)
        self.feeds = all_feeds(house)
        self._require_lines()
        circuit = self.strands.circuit
        self.supplies = {s.name: circuit.source(s.volts) for s in house.supplies}
        self.taps = placed_taps(house, self.places)

    def build(self) -> PowerWiring:
        for name in self.places:
            self._add_line(name)
        strands = self.strands
        return PowerWiring(
            Network(strands.circuit),
            self.feeds,
            self.house.trunks,
            self.taps,
            tuple(strands.conductors),
            self.joints,
            strands.wires,
            strands.together,
            self.places,
            tuple(strands.fuses),
            self.house.wire_defaults,
        )

    def _require_lines(self) -> None:
        supplies = [s.name for s in self.house.supplies]
        for kind, rows in (("feed", self.feeds), ("trunk", self.house.trunks)):
            for row in rows:
                key = f'{kind} "{row.name}"'
                if row.line not in self.places:
                    raise InputError(unknown("line", row.line, self.places), key=key)
                if row.supply not in supplies:
                    raise InputError(
                        unknown("supply", row.supply, supplies, plural="Supplies"),
                        key=f"{key}, supply",
                    )

    def _add_line(self, name: str) -> None:
        places, house, strands = self.places[name], self.house, self.strands
        feeds = [
            (f, places.place(f.at, f'feed "{f.name}", at')) for f in self.feeds if f.line == name
        ]
        buses = [(b, tie_places(b, places)) for b in house.buses if b.line == name]
        trunks = [(t, tap_places(t, self.taps, places)) for t in house.trunks if t.line == name]
        sources = [Source(f.supply, f.name, p) for f, p in feeds]
        sources += [Source(t.supply, tap.name, p) for t, rows in trunks for tap, p, _ in rows]
        joined = [s.place for s in sources] + [p for _, ties in buses for p in ties]
        nodes = LineNodes(places, distinct([*places.wire, *(p.wire for p in joined)]))
        self.joints[name] = sorted({(nodes.index(p.wire), p.along) for p in joined})
        for polarity in POLARITIES:
            nodes.terminals[polarity] = [strands.circuit.node() for _ in nodes.positions]
        together = 2 + 2 * len(buses) + 2 * len(trunks)
        self._add_string(nodes, self._cuts(places, sources), together)
        for k in map(nodes.index, places.wire.tolist()):
            strands.circuit.load(nodes.terminals["positive"][k], nodes.terminals["return"][k])
        for feed, place in feeds:
            add_feed(strands, feed, self.supplies[feed.supply], nodes, place)
        for trunk, rows in trunks:
            add_trunk(strands, trunk, self.supplies[trunk.supply], rows, nodes, together)
        for bus, ties in buses:
            add_bus(strands, bus, ties, nodes, together)

    def _add_string(self, nodes: LineNodes, cuts: list[float], together: int) -> None:
        name, strands = nodes.places.span.name, self.strands
        text = self.house.wire_defaults.string
        size = strands.size(text, ("string", name), "wiring.string", together)
        ends = nodes.positions
        middles = nodes.places.along_at((ends[:-1] + ends[1:]) / 2).tolist()
        contacts = self._contacts(nodes)
        for i, (here, there) in enumerate(pairwise(ends.tolist())):
            connector, contact = contacts.get(i, (None, 0.0))
            ohms = strands.ohms(size, there - here) + contact
            for polarity in POLARITIES:
                if polarity == "positive" and any(here < cut <= there for cut in cuts):
                    continue
                own = nodes.terminals[polarity]
                stretch = Conductor("string", polarity, name, middles[i], -1, i, connector)
                strands.add((own[i], own[i + 1]), ohms, stretch)

    def _contacts(self, nodes: LineNodes) -> dict[int, tuple[int | None, float]]:
        """Return the connector between two strings that a stretch holds, and its ohms, by stretch.

        Where something joins at the connector, half of the contact is on either side of it.
        """
        found: dict[int, tuple[int | None, float]] = {}
        ohms = self.house.string.contact_ohms
        for c in nodes.places.connectors[1:-1]:
            k = nodes.index(c.wire)
            if abs(nodes.positions[k] - c.wire) <= SAME_POSITION:
                found[k - 1] = found[k] = (c.connector, ohms / 2)
            else:
                found[k - 1] = (c.connector, ohms)
        return found

    def _cuts(self, places: LinePlaces, sources: list[Source]) -> list[float]:
        """Return where the positive is cut: as given, and between supplies without a given cut.

        There it is cut to the pixel as the verdict advises, so that figures are those after it.
        """
        line = next(x for x in self.house.lines if x.name == places.span.name)
        cuts = [places.cut(c, f'line "{line.name}", cuts') for c in line.cuts]
        for one, two in pairwise(sorted(sources, key=lambda s: s.place.wire)):
            low, high = one.place.wire, two.place.wire
            if one.supply == two.supply or any(low < cut <= high for cut in cuts):
                continue
            cuts.append(_advised(places, (low, high)))
        return cuts


def _advised(places: LinePlaces, between: tuple[float, float]) -> float:
    """Return where the cut nearest to half-way lies along the wire; half-way if no pixel does."""
    low, high = between
    before = places.pixel_before((low + high) / 2)
    inside = 0 < before < places.span.count
    at = places.cut(f"after pixel {before}", "cuts") if inside else low
    return at if low < at <= high else (low + high) / 2


def _check(network: Network, house: House, pixelmap: PixelMap) -> None:
    """Refuse pixels without a feed, and the positives of two supplies connected."""
    if (unfed := network.unfed_loads()).any():
        first = int(np.flatnonzero(unfed)[0])
        line = pixelmap.lines[int(pixelmap.line[first])]
        number, count = first - line.first + 1, int(unfed.sum())
        raise InputError(
            f"pixel {number} has no feed on its side of a cut"
            if count == 1
            else f"{count} pixels, from pixel {number} on, have no feed on their side of a cut",
            key=f'line "{line.name}"',
        )
    for a, b in network.joined_sources():
        raise InputError(
            f'the positives of supplies "{house.supplies[a].name}" and "{house.supplies[b].name}" '
            "are connected by a line or a bus; cut the positive between them, and never connect "
            "two supplies' positives"
        )
