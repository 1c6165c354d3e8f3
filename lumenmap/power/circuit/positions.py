"""Where feeds and the ties of a bus connect to a line."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_length, show_place
from lumenmap.house.model import House
from lumenmap.house.supplies import Bus, Feed
from lumenmap.power.circuit.places import SAME_POSITION, LinePlaces, Place

F = NDArray[np.float64]


def all_feeds(house: House) -> tuple[Feed, ...]:
    """Return all feeds; a line without feed or tap is connected straight to the only supply.

    Raises
    ------
    InputError
        A line without a feed or tap where there are several supplies.
    """
    fed = {feed.line for feed in house.feeds} | {trunk.line for trunk in house.trunks}
    added = []
    for line in house.lines:
        if line.name not in fed:
            if len(house.supplies) > 1:
                raise InputError(
                    "has no feed; add a [[feed]] from one of the supplies",
                    key=f'line "{line.name}"',
                )
            added.append(
                Feed(
                    f"{line.name} (no feed given)",
                    house.supplies[0].name,
                    line.name,
                    "start",
                    "",
                    0.0,
                    None,
                )
            )
    return (*house.feeds, *added)


def distinct(values: Sequence[float]) -> F:
    """Return the positions in rising order, without repeated ones."""
    rising = np.sort(values)
    keep = np.ones(len(rising), bool)
    keep[1:] = np.diff(rising) > SAME_POSITION
    return rising[keep]


def tie_places(bus: Bus, places: LinePlaces) -> list[Place]:
    """Return the places where a bus is tied to its line, in order along it.

    Raises
    ------
    InputError
        A position that isn't on the line or beyond the bus, or a bus of no length.
    """
    key = f'bus "{bus.name}"'
    ends = places.at(bus.start, f"{key}, start"), places.at(bus.stop, f"{key}, stop")
    start, stop = min(ends), max(ends)
    if stop - start < SAME_POSITION:
        raise InputError("starts and stops at the same position", key=key)
    if bus.ties:
        return _given_ties(bus, places, start, stop)
    steps = max(1, round((stop - start) / bus.every)) if bus.every else 1
    return [places.nearby(start + (stop - start) * k / steps) for k in range(steps + 1)]


def _given_ties(bus: Bus, places: LinePlaces, start: float, stop: float) -> list[Place]:
    key, unit = f'bus "{bus.name}", ties', places.unit
    found = []
    for text in bus.ties:
        place = places.place(text, key)
        if not start - SAME_POSITION <= place.along <= stop + SAME_POSITION:
            raise InputError(
                f'"{text[:40]}" is {show_length(place.along, unit)} along the line, beyond the '
                f"bus, which runs from {show_place(start, unit)} to {show_length(stop, unit)}",
                key=key,
            )
        found.append(place)
    found.sort(key=lambda p: p.wire)
    for one, two in pairwise(found):
        if two.wire - one.wire <= SAME_POSITION:
            raise InputError(
                f"two ties are at one place, {show_length(one.along, unit)} along the line", key=key
            )
    return found
