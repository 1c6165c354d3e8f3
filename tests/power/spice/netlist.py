"""From a house file and a lit state to the parts of a netlist, by `lumenmap help wiring` alone.

Nothing here is shared with lumenmap's solver: the house file is read as TOML, and only where the
pixels lie comes from lumenmap, by its pixel map.
"""

from __future__ import annotations

import tomllib
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pixels.pixelmap import PixelMap
from tests.power.spice.figures import (
    LEAST_OHMS,
    PIXELS,
    celsius,
    metres,
    ohms_per_metre,
)
from tests.power.spice.places import ONE, Line, Place


class Branch(NamedTuple):
    """One conductor's stretch, with an ammeter that counts what flows from a to b."""

    kind: str
    owner: str
    plus: bool
    a: str
    b: str
    ohms: float


class Wire(NamedTuple):
    """A pair that begins at two nodes, and its ohms in plus and minus."""

    kind: str
    owner: str
    ends: tuple[str, str]
    ohms: tuple[float, float]


class Join(NamedTuple):
    """A wire that joins a line at a place; a tie comes from no supply of its own."""

    wire: Wire
    supply: str | None
    place: Place


class Load(NamedTuple):
    """A pixel: its nodes and what each channel draws at full, A."""

    plus: str
    minus: str
    amps: tuple[float, ...]


class Netlist:
    """All branches, loads and sources of a house."""

    def __init__(self, text: str, pixels: PixelMap, codes: NDArray[np.uint8]) -> None:
        self.file = file = tomllib.loads(text)
        self.wiring = wiring = file.get("wiring", {})
        self.string = file.get("string", {})
        self.warm = celsius(wiring.get("celsius", wiring.get("ambient", 40.0)))
        self.contact = wiring.get("contact_milliohms", 0) / 1000
        mated = 10.0 if "pixels" in self.string else 0.0
        self.mated = self.string.get("connector_milliohms", mated) / 1000
        self.pixel = PIXELS[file["pixel"]["kind"]]
        if "min_volts" in file["pixel"]:
            self.pixel = self.pixel.with_least(float(file["pixel"]["min_volts"]))
        self.branches: list[Branch] = []
        self.loads: list[Load] = []
        self.supplies = {s["name"]: float(s["volts"]) for s in file["supply"]}
        self.poles = {n: (f"s{k}p", f"s{k}m") for k, n in enumerate(self.supplies)}
        self.lines = {
            span.name: self._line(pixels, span.first, span.count, span.length)
            for span in pixels.lines
        }
        self.trunks = {t["name"]: t for t in file.get("trunk", [])}
        for number, span in enumerate(pixels.lines):
            joins = self._joins(span.name)
            lit = codes[span.first : span.first + span.count]
            self._chain(number, span.name, joins, lit)

    def _line(self, pixels: PixelMap, first: int, count: int, length: float) -> Line:
        part = slice(first, first + count)
        return Line(pixels.along_line[part], length, pixels.edge[part] < 0, self.file)

    def _of(self, table: str, key: str, name: str) -> list[dict[str, Any]]:
        return [row for row in self.file.get(table, []) if row[key] == name]

    def _ohms(self, size: str, length: float) -> float:
        return ohms_per_metre(size, self.warm) * length

    def _wire(self, part: dict[str, Any], size: str, mated: bool) -> tuple[float, float]:
        """Return the ohms of a wire of a file's part, in plus and minus."""
        ohms = self._ohms(part.get("wire", size), metres(part.get("length", 0)))
        ohms += self.mated if mated else 0
        return ohms + (self.contact if "fuse" in part else 0), ohms

    def _add(self, wire: Wire, to: tuple[str, str], cut: bool = False) -> None:
        """Add a plus and a minus conductor, or the minus alone where the plus is cut."""
        for plus, a, b, ohms in zip((True, False), wire.ends, to, wire.ohms, strict=True):
            if not (plus and cut):
                least = max(ohms, LEAST_OHMS)
                self.branches.append(Branch(wire.kind, wire.owner, plus, a, b, least))

    def _joins(self, name: str) -> list[Join]:
        """Return all that joins a line; lay its trunks and buses."""
        line = self.lines[name]
        joins = []
        for feed in self._of("feed", "to", name):
            place = line.at(feed.get("at", "start"))
            ohms = self._wire(feed, "16 AWG stranded", place.connector)
            wire = Wire("feed", feed["name"], self.poles[feed["supply"]], ohms)
            joins.append(Join(wire, feed["supply"], place))
        for trunk in self._of("trunk", "along", name):
            joins += self._trunk(trunk, line)
        if not joins:
            (supply,) = self.supplies
            wire = Wire("feed", f"{name} (no feed given)", self.poles[supply], (0, 0))
            joins.append(Join(wire, supply, line.start))
        for k, bus in enumerate(self.file.get("bus", [])):
            if bus["along"] == name:
                joins += self._bus(k, bus, line)
        return joins

    def _trunk(self, trunk: dict[str, Any], line: Line) -> list[Join]:
        name, size = trunk["name"], trunk.get("wire", "12 AWG stranded")
        start = line.at(trunk.get("start", "start")).x
        stop = line.at(trunk.get("stop", "end")).x
        low, high = sorted((start, stop))
        taps = []
        for tap in self._of("tap", "trunk", name):
            place = line.at(tap["at"]) if "at" in tap else line.nearest_connector(stop)
            taps.append((tap, place, min(max(place.x, low), high)))
        spots = sorted({start, *(x for _, _, x in taps)}, key=lambda x: abs(x - start))
        number = list(self.trunks).index(name)
        nodes = {x: (f"t{number}p{k}", f"t{number}m{k}") for k, x in enumerate(spots)}
        poles = self.poles[trunk["supply"]]
        lead = self._wire(trunk, "12 AWG stranded", False)
        self._add(Wire("trunk", name, poles, lead), nodes[start])
        for a, b in pairwise(spots):
            ohms = self._ohms(size, abs(b - a))
            self._add(Wire("trunk", name, nodes[a], (ohms, ohms)), nodes[b])
        joins = []
        for tap, place, x in taps:
            both = self._wire(tap, "18 AWG stranded", place.connector)
            joins.append(Join(Wire("tap", tap["name"], nodes[x], both), trunk["supply"], place))
        return joins

    def _bus(self, number: int, bus: dict[str, Any], line: Line) -> list[Join]:
        size = bus.get("wire", "14 AWG stranded")
        if "ties" in bus:
            places = [line.at(at) for at in bus["ties"]]
        else:
            ends = line.at(bus.get("start", "start")).x, line.at(bus.get("stop", "end")).x
            every = metres(bus["tie_every"]) if "tie_every" in bus else None
            places = line.bus_steps(*ends, every)
        places.sort(key=lambda place: place.x)
        nodes = [(f"b{number}p{k}", f"b{number}m{k}") for k in range(len(places))]
        for k in range(1, len(places)):
            ohms = self._ohms(size, places[k].x - places[k - 1].x)
            self._add(Wire("bus", bus["name"], nodes[k - 1], (ohms, ohms)), nodes[k])
        joins = []
        for place, node in zip(places, nodes, strict=True):
            mated = self.mated if place.connector else 0.0
            both = mated + (self.contact if "tie_fuse" in bus else 0), mated
            joins.append(Join(Wire("tie", bus["name"], node, both), None, place))
        return joins

    def _chain(self, number: int, name: str, joins: list[Join], codes: NDArray[np.uint8]) -> None:
        """Lay the string of a line, its cuts, what joins it, and its pixels."""
        line = self.lines[name]
        spots: list[float] = []
        for s in sorted([*line.s, *(join.place.s for join in joins)]):
            if not spots or s - spots[-1] > ONE:
                spots.append(s)
        nodes = [(f"l{number}p{k}", f"l{number}m{k}") for k in range(len(spots))]

        def node(s: float) -> int:
            return int(np.argmin([abs(s - spot) for spot in spots]))

        own = self.string.get("wire", self.wiring.get("string", "18 AWG stranded"))
        gone = self._gaps(name, line, joins, spots)
        for k in range(1, len(spots)):
            a, b = spots[k - 1], spots[k]
            ohms = self._ohms(own, b - a) + sum(
                self.mated * _share(joint.s, a, b) for joint in line.joints
            )
            stretch = Wire("string", name, nodes[k - 1], (ohms, ohms))
            self._add(stretch, nodes[k], cut=k - 1 in gone)
        for join in joins:
            self._add(join.wire, nodes[node(join.place.s)])
        for s, row in zip(line.s, codes, strict=True):
            amps = tuple(
                mA / 1000 * int(code) / 255
                for mA, code in zip(self.pixel.channel_mA, row, strict=True)
            )
            self.loads.append(Load(*nodes[node(s)], amps))

    def _gaps(self, name: str, line: Line, joins: list[Join], spots: list[float]) -> set[int]:
        """Return the stretches whose plus is cut, from 0, by the file and where cuts are missing."""
        (row,) = self._of("line", "name", name)
        gone, cuts = set(), []
        for cut in row.get("cuts", []):
            if isinstance(cut, str) and cut.startswith("after pixel "):
                s = line.pixel(int(cut.split()[-1])).s
                gone.add(int(np.argmin([abs(s - spot) for spot in spots])))
                cuts.append(s + 2 * ONE)
            else:
                gone.add(_stretch(line.at(cut).s, spots))
                cuts.append(line.at(cut).s)
        fed = sorted(((j.place.s, j.supply) for j in joins if j.supply), key=lambda f: f[0])
        for (first, one), (second, other) in pairwise(fed):
            if one != other and not any(first + ONE < cut <= second + ONE for cut in cuts):
                gone.add(_stretch((first + second) / 2, spots))
        return gone


def _share(joint: float, a: float, b: float) -> float:
    """Return how much of a connector's contact lies in the stretch from a to b."""
    if abs(joint - a) <= ONE or abs(joint - b) <= ONE:
        return 0.5
    return 1.0 if a < joint < b else 0.0


def _stretch(s: float, spots: list[float]) -> int:
    """Return the stretch that a place lies in or, at a node, the one before it."""
    return sum(spot < s - ONE for spot in spots) - 1
