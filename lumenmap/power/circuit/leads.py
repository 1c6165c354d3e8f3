"""What is connected to a line: feeds, trunks with their taps, and buses."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.lengths import show_length, show_written
from lumenmap.house.model import House
from lumenmap.house.supplies import Bus, Feed, Tap, Trunk
from lumenmap.power.circuit.places import SAME_POSITION, LinePlaces, Place
from lumenmap.power.circuit.strands import Ends, LineNodes, Pair, Strands
from lumenmap.power.circuit.wiring import POLARITIES, Conductor

#: The plus and minus terminals of a supply.
Terminals = tuple[int, int]


class Source(NamedTuple):
    """Where current comes into a line: from a feed or from a tap of a trunk."""

    supply: str
    name: str
    place: Place


def placed_taps(house: House, places: dict[str, LinePlaces]) -> tuple[Tap, ...]:
    """Return the taps, each with a place: the connector nearest to its trunk's far end if none.

    Raises
    ------
    InputError
        No such trunk, or no such place.
    """
    return tuple(t if t.at else _placed(t, house, places) for t in house.taps)


def _placed(tap: Tap, house: House, places: dict[str, LinePlaces]) -> Tap:
    names = {t.name: t for t in house.trunks}
    if tap.trunk not in names:
        raise InputError(unknown("trunk", tap.trunk, names), key=f'tap "{tap.name}", trunk')
    trunk = names[tap.trunk]
    own = places[trunk.line]
    near = own.nearest_connector(own.at(trunk.stop, f'trunk "{trunk.name}", stop')).connector
    if house.string.pixels is not None:
        return replace(tap, at=f"connector {near}")
    return replace(tap, at="start" if near == 1 else "end")


def tap_places(
    trunk: Trunk, taps: tuple[Tap, ...], places: LinePlaces
) -> list[tuple[Tap, Place, float]]:
    """Return the taps of a trunk in order from its start, where they connect, and where they leave.

    The last is m along the line.

    Raises
    ------
    InputError
        A place that isn't on the line, or that neither trunk nor tap reaches.
    """
    key, unit = f'trunk "{trunk.name}"', places.unit
    start = places.at(trunk.start, f"{key}, start")
    low, high = sorted((start, places.at(trunk.stop, f"{key}, stop")))
    found = []
    for tap in (t for t in taps if t.trunk == trunk.name):
        place = places.place(tap.at, f'tap "{tap.name}", at')
        leaves = min(max(place.along, low), high)
        beyond = abs(place.along - leaves)
        if beyond > tap.length + 1e-3:
            raise InputError(
                f"is {show_length(place.along, unit)} along the line, "
                f"{show_length(beyond, unit)} beyond the trunk, and its wire is "
                f"{show_written(tap.length, unit)} long; make the trunk or the tap longer",
                key=f'tap "{tap.name}", at',
            )
        found.append((tap, place, leaves))
    return sorted(found, key=lambda row: abs(row[2] - start))


def add_feed(
    strands: Strands, feed: Feed, supply: Terminals, nodes: LineNodes, place: Place
) -> None:
    """Add a feed from its supply to a place on its line."""
    ohms = 0.0
    if feed.wire:
        size = strands.size(feed.wire, ("feed", feed.name), f'feed "{feed.name}", wire')
        ohms = strands.ohms(size, feed.length)
    # Of a feed that the file doesn't give, nothing is known, not even a plug.
    connector = place.connector if feed.wire else None
    lead = Conductor("feed", "positive", feed.name, place.along, -1, 0, connector)
    ends = _outward({"positive": supply[0], "return": supply[1]}, nodes.pair(place))
    strands.lead(lead, ends, ohms, feed.fuse)


def add_trunk(
    strands: Strands,
    trunk: Trunk,
    supply: Terminals,
    taps: list[tuple[Tap, Place, float]],
    nodes: LineNodes,
    together: int,
) -> None:
    """Add a trunk: its lead-in, its stretches from tap to tap, and the taps."""
    key = f'trunk "{trunk.name}"'
    size = strands.size(trunk.wire, ("trunk", trunk.name), f"{key}, wire", together)
    at, here = nodes.places.at(trunk.start, f"{key}, start"), strands.pair()
    ends = _outward({"positive": supply[0], "return": supply[1]}, here)
    lead = Conductor("trunk", "positive", trunk.name, at, -1)
    strands.lead(lead, ends, strands.ohms(size, trunk.length), trunk.fuse)
    number = 0
    for tap, place, leaves in taps:
        if abs(leaves - at) > SAME_POSITION:
            number += 1
            stretch = Conductor("trunk", "positive", trunk.name, (at + leaves) / 2, -1, number)
            there = strands.pair()
            ohms = strands.ohms(size, abs(leaves - at))
            for polarity, pair in _outward(here, there).items():
                strands.add(pair, ohms, stretch._replace(polarity=polarity))
            at, here = leaves, there
        _add_tap(strands, tap, here, nodes, place)


def _add_tap(strands: Strands, tap: Tap, trunk: Pair, nodes: LineNodes, place: Place) -> None:
    size = strands.size(tap.wire, ("tap", tap.name), f'tap "{tap.name}", wire')
    lead = Conductor("tap", "positive", tap.name, place.along, -1, 0, place.connector)
    ends = _outward(trunk, nodes.pair(place))
    strands.lead(lead, ends, strands.ohms(size, tap.length), tap.fuse)


def add_bus(strands: Strands, bus: Bus, ties: list[Place], nodes: LineNodes, together: int) -> None:
    """Add a bus from tie to tie, and its ties."""
    size = strands.size(bus.wire, ("bus", bus.name), f'bus "{bus.name}", wire', together)
    own = [strands.pair() for _ in ties]
    for i, (here, there) in enumerate(pairwise(ties)):
        middle = (here.along + there.along) / 2
        ohms = strands.ohms(size, there.along - here.along)
        for polarity in POLARITIES:
            stretch = Conductor("bus", polarity, bus.name, middle, -1, i)
            strands.add((own[i][polarity], own[i + 1][polarity]), ohms, stretch)
    for i, place in enumerate(ties):
        line = nodes.pair(place)
        tie = Conductor("tie", "positive", bus.name, place.along, -1, i, place.connector)
        ends: Ends = {p: (own[i][p], line[p]) for p in POLARITIES}
        strands.lead(tie, ends, 0.0, bus.tie_fuse)


def _outward(one: Pair, two: Pair) -> Ends:
    """Return the ends of both conductors from the supply's side to the line's, by their current."""
    return {
        "positive": (one["positive"], two["positive"]),
        "return": (two["return"], one["return"]),
    }
