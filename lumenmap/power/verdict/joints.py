"""Which supplies each stretch of a line's plus wire hangs on, as the house file describes it.

Strategy: cuts divide a line's plus wire into sections. Sections, buses and supplies are joined by
feeds and ties, one at a time, so the one that first connects two supplies is known by name. No
resistance matters here, and no cut is assumed that the file doesn't ask for.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from lumenmap.house.model import House
from lumenmap.power.circuit.leads import Source, placed_taps, tap_places
from lumenmap.power.circuit.places import LinePlaces, Place
from lumenmap.power.circuit.positions import tie_places
from lumenmap.power.verdict.finding import Finding, Subject

#: A section of a line (line, number from its start), a bus or a supply.
Node = tuple[str, str, int]


@dataclass(slots=True)
class _Groups:
    """Nodes joined so far, and the supplies of each group."""

    parent: dict[Node, Node] = field(default_factory=dict)
    supplies: dict[Node, set[str]] = field(default_factory=dict)

    def find(self, node: Node) -> Node:
        while self.parent.setdefault(node, node) != node:
            node = self.parent[node]
        return node

    def supplies_of(self, node: Node) -> set[str]:
        return self.supplies.setdefault(self.find(node), set())

    def join(self, a: Node, b: Node) -> None:
        merged = self.supplies_of(a) | self.supplies_of(b)
        self.parent[self.find(a)] = self.find(b)
        self.supplies[self.find(b)] = merged


def joints(house: House, places: dict[str, LinePlaces]) -> Iterator[Finding]:
    """Yield lines without a feed, and what connects two supplies.

    Raises
    ------
    InputError
        A position that isn't on its line.
    """
    groups = _Groups()
    cuts = {name: _cuts(house, own) for name, own in places.items()}

    def section(line: str, place: Place) -> Node:
        return ("section", line, bisect_right(cuts[line], place.wire))

    for name, own in places.items():
        sources = _sources(house, places, name)
        for source in sources:
            here = section(name, source.place)
            if groups.supplies_of(here) <= {source.supply}:  # else the string joins them: see below
                groups.join(("supply", source.supply, 0), here)
                groups.supplies[groups.find(here)].add(source.supply)
        for one, two in pairwise(sources):
            together = section(name, one.place) == section(name, two.place)
            if one.supply != two.supply and together:
                yield _uncut(own, one, two)
    yield from _joined_by_buses(house, places, groups, section)
    for name, own in places.items():
        yield from _unfed(own, cuts[name], groups)


def _cuts(house: House, places: LinePlaces) -> list[float]:
    """Return the cuts of a line, m of string wire from its start."""
    line = next(x for x in house.lines if x.name == places.span.name)
    return sorted(places.cut(c, f'line "{line.name}", cuts') for c in line.cuts)


def _sources(house: House, places: dict[str, LinePlaces], line: str) -> list[Source]:
    """Return the feeds and taps of a line, in order along it."""
    own, taps = places[line], placed_taps(house, places)
    found = [
        Source(f.supply, f.name, own.place(f.at, f'feed "{f.name}", at'))
        for f in house.feeds
        if f.line == line
    ]
    for trunk in house.trunks:
        if trunk.line == line:
            rows = tap_places(trunk, taps, own)
            found += [Source(trunk.supply, tap.name, place) for tap, place, _ in rows]
    return sorted(found, key=lambda s: s.place.wire)


def _joined_by_buses(
    house: House,
    places: dict[str, LinePlaces],
    groups: _Groups,
    section: Callable[[str, Place], Node],
) -> Iterator[Finding]:
    for bus in house.buses:
        node: Node = ("bus", bus.name, 0)
        for tie in tie_places(bus, places[bus.line]):
            both = groups.supplies_of(node) | groups.supplies_of(section(bus.line, tie))
            if len(both) > 1:
                yield Finding(
                    "supplies-joined",
                    "danger",
                    (Subject(bus.name),),
                    f'Bus "{bus.name}" connects the plus of supplies {_named(both)}: whichever '
                    "gives the higher voltage drives current into the other.",
                    f'End the bus at the cut of line "{bus.line}", and run another one beyond it.',
                )
                break
            groups.join(section(bus.line, tie), node)


def _unfed(places: LinePlaces, cuts: list[float], groups: _Groups) -> Iterator[Finding]:
    """Yield a finding if pixels of a line have no feed on their side of a cut."""
    name = places.span.name
    sections = [bisect_right(cuts, wire) for wire in places.wire.tolist()]
    for number in dict.fromkeys(sections):
        if groups.supplies_of(("section", name, number)):
            continue
        own = [k for k, section in enumerate(sections, 1) if section == number]
        if len(own) == len(sections):
            subject = Subject(name, "line")
            says = "no feed, so the fuse and the wire that the current comes through are unknown."
        else:
            subject = Subject(name, "line", f"pixels {own[0]} to {own[-1]}")
            says = "no feed on that side of a cut."
        yield Finding(
            "no-feed",
            "danger",
            (subject,),
            says,
            "Write a [[feed]] with its wire, length and fuse.",
        )


def _uncut(places: LinePlaces, one: Source, two: Source) -> Finding:
    low, high = one.place.wire, two.place.wire
    before, wire = places.pixel_before((low + high) / 2), places.wire
    if 0 < before < len(wire) and low < wire[before] and wire[before - 1] < high:
        remedy = (
            f'Write cuts = ["after pixel {before}"] in the line, and cut the plus wire there, '
            f"between pixels {before} and {before + 1}; leave minus and data whole."
        )
    else:
        remedy = "No pixel lies between the two: take one of them away, or move it."
    return Finding(
        "supplies-joined",
        "danger",
        (Subject(places.span.name),),
        f'Line "{places.span.name}" connects the plus of supplies "{one.supply}" and '
        f'"{two.supply}": no cut between "{one.name}" and "{two.name}" is asked for.',
        remedy,
    )


def _named(names: set[str]) -> str:
    return " and ".join(f'"{name}"' for name in sorted(names))
