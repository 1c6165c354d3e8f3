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

import numpy as np

from lumenmap.house.model import House
from lumenmap.house.supplies import Feed
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.power.circuit.positions import position_on_line, tie_positions
from lumenmap.power.verdict.finding import Finding

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


def joints(house: House, pixels: PixelMap) -> Iterator[Finding]:
    """Yield lines without a feed, and what connects two supplies.

    Raises
    ------
    InputError
        A position that isn't on its line.
    """
    groups, cuts = _Groups(), {span.name: _cuts(house, span) for span in pixels.lines}

    def section(line: str, at: float) -> Node:
        return ("section", line, bisect_right(cuts[line], at))

    for span in pixels.lines:
        feeds = sorted(_feeds(house, span), key=lambda pair: pair[0])
        for at, feed in feeds:
            here = section(span.name, at)
            if groups.supplies_of(here) <= {feed.supply}:  # else the string joins them: told below
                groups.join(("supply", feed.supply, 0), here)
                groups.supplies[groups.find(here)].add(feed.supply)
        for (at, one), (stop, two) in pairwise(feeds):
            if one.supply != two.supply and section(span.name, at) == section(span.name, stop):
                yield _uncut(span, pixels, (one, at), (two, stop))
    yield from _joined_by_buses(house, pixels, groups, section)
    for span in pixels.lines:
        yield from _unfed(span, pixels, cuts[span.name], groups)


def _cuts(house: House, span: LineSpan) -> list[float]:
    line = next(x for x in house.lines if x.name == span.name)
    key = f'line "{line.name}", cuts'
    return sorted(position_on_line(c, span, house.unit, key) for c in line.cuts)


def _feeds(house: House, span: LineSpan) -> list[tuple[float, Feed]]:
    return [
        (position_on_line(f.at, span, house.unit, f'feed "{f.name}", at'), f)
        for f in house.feeds
        if f.line == span.name
    ]


def _joined_by_buses(
    house: House, pixels: PixelMap, groups: _Groups, section: Callable[[str, float], Node]
) -> Iterator[Finding]:
    spans = {span.name: span for span in pixels.lines}
    for bus in house.buses:
        node: Node = ("bus", bus.name, 0)
        for at in tie_positions(bus, spans[bus.line], house.unit):
            both = groups.supplies_of(node) | groups.supplies_of(section(bus.line, at))
            if len(both) > 1:
                yield Finding(
                    "supplies-joined",
                    "danger",
                    bus.name,
                    f'Bus "{bus.name}" connects the plus of supplies {_named(both)}: whichever '
                    "gives the higher voltage drives current into the other.",
                    f'End the bus at the cut of line "{bus.line}", and run another one beyond it.',
                )
                break
            groups.join(section(bus.line, at), node)


def _unfed(
    span: LineSpan, pixels: PixelMap, cuts: list[float], groups: _Groups
) -> Iterator[Finding]:
    """Yield a finding if pixels of a line have no feed on their side of a cut."""
    along = pixels.along_line[span.slice]
    sections = np.searchsorted(cuts, along, side="right")
    for number in dict.fromkeys(sections.tolist()):
        if groups.supplies_of(("section", span.name, number)):
            continue
        own = np.flatnonzero(sections == number)
        if len(own) == span.count:
            says = (
                f'Line "{span.name}" hangs on no feed: the fuse and the wire that its current '
                "comes through are unknown."
            )
        else:
            says = (
                f'Line "{span.name}": pixels {own[0] + 1} to {own[-1] + 1} have no feed on their '
                "side of a cut."
            )
        yield Finding(
            "no-feed",
            "danger",
            span.name,
            says,
            f'Write a [[feed]] to "{span.name}" with its wire, length and fuse.',
        )


def _uncut(
    span: LineSpan, pixels: PixelMap, one: tuple[Feed, float], two: tuple[Feed, float]
) -> Finding:
    (first, start), (second, stop) = one, two
    along = pixels.along_line[span.slice]
    before = int(np.searchsorted(along, (start + stop) / 2))
    between = start <= along[max(0, before - 1)] and before < span.count and along[before] <= stop
    if between and before > 0:
        remedy = (
            f'Write cuts = ["after pixel {before}"] in the line, and cut the plus wire there, '
            f"between pixels {before} and {before + 1}; leave minus and data whole."
        )
    else:
        remedy = "No pixel lies between the two feeds: take one of them away, or move it."
    return Finding(
        "supplies-joined",
        "danger",
        span.name,
        f'Line "{span.name}" connects the plus of supplies "{first.supply}" and '
        f'"{second.supply}": no cut between their feeds at {first.at} and {second.at} is asked '
        "for.",
        remedy,
    )


def _named(names: set[str]) -> str:
    return " and ".join(f'"{name}"' for name in sorted(names))
