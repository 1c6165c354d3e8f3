"""From a house file and a lit state to a SPICE netlist, by `lumenmap help wiring` alone.

Nothing here is shared with lumenmap's solver: the house file is read as TOML, and only where the
pixels lie comes from lumenmap, by its pixel map.
"""

from __future__ import annotations

import tomllib
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pixels.pixelmap import PixelMap
from tests.power.spice.figures import (
    LEAST_OHMS,
    PIXELS,
    Pixel,
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
    at: float
    a: str
    b: str
    ohms: float


class Join(NamedTuple):
    """Where something joins a line: nodes it comes from, its ohms in plus and minus."""

    kind: str
    owner: str
    supply: str | None
    place: Place
    ends: tuple[str, str]
    ohms: tuple[float, float]


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

    def _add(self, join: Join, to: tuple[str, str]) -> None:
        for plus, a, b, ohms in zip((True, False), join.ends, to, join.ohms, strict=True):
            least = max(ohms, LEAST_OHMS)
            self.branches.append(Branch(join.kind, join.owner, plus, join.place.x, a, b, least))

    def _pair(
        self, kind: str, owner: str, at: float, nodes: list[tuple[str, str]], ohms: float
    ) -> None:
        self._add(Join(kind, owner, None, Place(at, 0), nodes[0], (ohms, ohms)), nodes[1])

    def _joins(self, name: str) -> list[Join]:
        """Return all that joins a line; lay its trunks and buses."""
        line = self.lines[name]
        joins = []
        for feed in self._of("feed", "to", name):
            place = line.at(feed.get("at", "start"))
            ohms = self._wire(feed, "16 AWG stranded", place.connector)
            poles = self.poles[feed["supply"]]
            joins.append(Join("feed", feed["name"], feed["supply"], place, poles, ohms))
        for trunk in self._of("trunk", "along", name):
            joins += self._trunk(trunk, line)
        if not joins:
            (supply,) = self.supplies
            owner = f"{name} (no feed given)"
            joins.append(Join("feed", owner, supply, line.start, self.poles[supply], (0, 0)))
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
        self._add(Join("trunk", name, None, Place(start, 0), poles, lead), nodes[start])
        for a, b in zip(spots, spots[1:], strict=False):
            self._pair("trunk", name, a, [nodes[a], nodes[b]], self._ohms(size, abs(b - a)))
        joins = []
        for tap, place, x in taps:
            ohms = self._wire(tap, "18 AWG stranded", place.connector)
            joins.append(Join("tap", tap["name"], trunk["supply"], place, nodes[x], ohms))
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
            apart = places[k].x - places[k - 1].x
            at = places[k - 1].x
            self._pair("bus", bus["name"], at, nodes[k - 1 : k + 1], self._ohms(size, apart))
        joins = []
        for place, node in zip(places, nodes, strict=True):
            mated = self.mated if place.connector else 0.0
            ohms = mated + (self.contact if "tie_fuse" in bus else 0), mated
            joins.append(Join("tie", bus["name"], None, place, node, ohms))
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
            where = float(np.interp((a + b) / 2, [0, *line.s], [0, *line.x]))
            kept = Join("string", name, None, Place(where, a), nodes[k - 1], (ohms, ohms))
            self._add(kept, nodes[k])
            if k - 1 in gone:
                del self.branches[-2]
        for join in joins:
            self._add(join, nodes[node(join.place.s)])
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
        for (first, one), (second, other) in zip(fed, fed[1:], strict=False):
            if one != other and not any(first + ONE < cut <= second + ONE for cut in cuts):
                gone.add(_stretch((first + second) / 2, spots))
        return gone

    def text(self) -> str:
        """Return the netlist as ngspice reads it."""
        rows = ["a house"]
        for (plus, minus), volts in zip(self.poles.values(), self.supplies.values(), strict=True):
            rows.append(f"Vs{plus} {plus} {minus} {volts!r}")
        for k, row in enumerate(self.branches):
            rows.append(f"Vr{k} {row.a} q{k} 0")
            rows.append(f"Rr{k} q{k} {row.b} {row.ohms!r}")
        for k, load in enumerate(self.loads):
            rows.append(f"Bx{k} {load.plus} {load.minus} I={_draws(self.pixel, load)}")
        rows += [f"Vz{k} 0 {node} 0" for k, node in enumerate(self._grounds())]
        return "\n".join(rows)

    def _grounds(self) -> list[str]:
        """Return one minus terminal of each part that hangs together; each is SPICE's ground."""
        root: dict[str, str] = {}

        def find(node: str) -> str:
            while root.setdefault(node, node) != node:
                node = root[node]
            return node

        pairs = [*self.poles.values(), *((b.a, b.b) for b in self.branches)]
        for a, b in [*pairs, *((load.plus, load.minus) for load in self.loads)]:
            root[find(a)] = find(b)
        return list({find(minus): minus for _, minus in self.poles.values()}.values())


def _share(joint: float, a: float, b: float) -> float:
    """Return how much of a connector's contact lies in the stretch from a to b."""
    if abs(joint - a) <= ONE or abs(joint - b) <= ONE:
        return 0.5
    return 1.0 if a < joint < b else 0.0


def _stretch(s: float, spots: list[float]) -> int:
    """Return the stretch that a place lies in or, at a node, the one before it."""
    return sum(spot < s - ONE for spot in spots) - 1


def _draws(pixel: Pixel, load: Load) -> str:
    """Return the current of a pixel as SPICE's expression of its voltage."""
    v = f"v({load.plus},{load.minus})"
    terms = [f"{pixel.idle_mA / 1000!r}*{_held(f'{v}/{min(pixel.off)!r}')}"]
    for off, full, amps in zip(pixel.off, pixel.full, load.amps, strict=True):
        terms.append(f"{amps!r}*{_held(f'({v}-{off!r})/{full - off!r}')}")
    return "+".join(terms)


def _held(expression: str) -> str:
    return f"max(0,min(1,{expression}))"
