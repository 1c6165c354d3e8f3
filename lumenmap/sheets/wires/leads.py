"""`Lead`: every pair of wires with the mark that all sheets know it by, and where it joins a line.

Feeds are F1, F2…, trunks T1…, the taps of T1 are T1.1, T1.2… in the order they leave it, buses
B1… and their ties B1.1, B1.2….
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lumenmap.core.lengths import show_written
from lumenmap.house.choices import Unit
from lumenmap.house.supplies import Bus, Trunk
from lumenmap.parts.fuses import BLADES
from lumenmap.power.circuit.leads import placed_taps, tap_places
from lumenmap.power.circuit.places import Place
from lumenmap.power.circuit.positions import tie_places
from lumenmap.power.circuit.wiring import ConductorKind
from lumenmap.site import Site


@dataclass(frozen=True, slots=True)
class Lead:
    """A pair of wires, or a tie.

    Attributes
    ----------
    mark
        What it is called on every sheet.
    kind, name
        ``feed``, ``trunk``, ``tap``, ``bus`` or ``tie``; what the house file calls it (a tie: its
        bus).
    source
        The supply, trunk or bus that it comes from; empty for a bus.
    line, place
        The line, and where it joins it: of a trunk or bus, where it begins alongside.
    stop
        Where a trunk or bus ends; None for others.
    wire, length
        Size and length of the pair, one way (m): of a trunk, its lead-in and what lies alongside.
    fuse
        A, or None.
    """

    mark: str
    kind: ConductorKind
    name: str
    source: str
    line: str
    place: Place
    stop: Place | None
    wire: str
    length: float
    fuse: float | None

    @property
    def joins(self) -> bool:
        """Whether it connects to the line at its place."""
        return self.kind in ("feed", "tap", "tie")

    def make(self, unit: Unit) -> str:
        """Return the size and length of the pair, as a drawing or a label has them."""
        long = show_written(self.length, unit) if self.length else "length not given"
        return f"{self.wire}, {long}"

    @property
    def lead_in(self) -> float:
        """Of a trunk, the wire from its supply to where it comes alongside (m)."""
        beside = abs(self.stop.along - self.place.along) if self.stop else 0.0
        return self.length - beside


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut of a line's plus wire: between pixels ``pixel`` and the next, ``along`` m; its mark."""

    mark: str
    line: str
    pixel: int
    along: float
    wire: float

    @property
    def order(self) -> str:
        """What to do, and what to leave."""
        return (
            f"cut the plus wire between pixels {self.pixel} and {self.pixel + 1}; "
            "leave minus and data"
        )


def show_fuse(amps: float | None) -> str:
    """Return a fuse with its colour word: ``5 A, tan``."""
    if amps is None:
        return "no fuse"
    colour = BLADES.get(amps)
    return f"{amps:g} A, {colour}" if colour else f"{amps:g} A"


def leads(site: Site) -> list[Lead]:
    """Return every pair of wires: feeds, then trunks each with its taps, then buses and ties.

    Raises
    ------
    InputError
        A place that isn't on its line.
    """
    return [*_feeds(site), *_trunks(site), *_buses(site)]


def _feeds(site: Site) -> Iterator[Lead]:
    for i, f in enumerate(site.house.feeds, 1):
        place = site.places[f.line].place(f.at, f'feed "{f.name}", at')
        yield Lead(f"F{i}", "feed", f.name, f.supply, f.line, place, None, f.wire, f.length, f.fuse)


def _trunks(site: Site) -> Iterator[Lead]:
    taps = placed_taps(site.house, site.places)
    for i, t in enumerate(site.house.trunks, 1):
        start, stop = _ends(site, t, "trunk")
        length = t.length + abs(stop.along - start.along)
        yield Lead(f"T{i}", "trunk", t.name, t.supply, t.line, start, stop, t.wire, length, t.fuse)
        for k, (tap, place, _) in enumerate(tap_places(t, taps, site.places[t.line]), 1):
            mark = f"T{i}.{k}"
            yield Lead(
                mark, "tap", tap.name, t.name, t.line, place, None, tap.wire, tap.length, tap.fuse
            )


def _buses(site: Site) -> Iterator[Lead]:
    for i, b in enumerate(site.house.buses, 1):
        start, stop = sorted(_ends(site, b, "bus"), key=lambda p: p.along)
        length = stop.along - start.along
        yield Lead(f"B{i}", "bus", b.name, "", b.line, start, stop, b.wire, length, None)
        for k, place in enumerate(tie_places(b, site.places[b.line]), 1):
            yield Lead(
                f"B{i}.{k}", "tie", b.name, b.name, b.line, place, None, b.wire, 0.0, b.tie_fuse
            )


def _ends(site: Site, pair: Trunk | Bus, kind: str) -> tuple[Place, Place]:
    own, key = site.places[pair.line], f'{kind} "{pair.name}"'
    return own.place(pair.start, f"{key}, start"), own.place(pair.stop, f"{key}, stop")


def cuts(site: Site) -> list[Cut]:
    """Return the cuts of all lines in the order of the data, marked Cut 1, Cut 2….

    Raises
    ------
    InputError
        A place that isn't on its line.
    """
    found: list[Cut] = []
    for line in site.house.lines:
        own = site.places[line.name]
        for wire in sorted(own.cut(c, f'line "{line.name}", cuts') for c in line.cuts):
            pixel, along = own.pixel_before(wire), float(own.along_at(wire))
            found.append(Cut(f"Cut {len(found) + 1}", line.name, pixel, along, wire))
    return found
