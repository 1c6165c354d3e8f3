"""Where feeds and ties of a bus join a line, in metres of wire from its start."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.units import length
from lumenmap.house.model import House
from lumenmap.house.supplies import Bus, Feed
from lumenmap.pixels.pixelmap import LineSpan

F = NDArray[np.float64]

#: Places on a line nearer than this (m) are one place.
SAME = 1e-6


def position_on_line(text: str, span: LineSpan, unit: str, key: str) -> float:
    """Return a place on a line, m of wire from its start: start, middle, end or a length.

    Raises
    ------
    InputError
        It is none of these, or not on the line.
    """
    named = {"start": 0.0, "middle": span.length / 2, "end": span.length}
    if text in named:
        return named[text]
    try:
        place = float(length(text, unit, what="place"))
    except InputError:
        raise InputError(
            f'is "{text[:40]}"; wanted start, middle, end or a length like "12 ft"', key=key
        ) from None
    if not 0 <= place <= span.length + 1e-3:
        raise InputError(
            f'is "{text}": {place:.3f} m along a line of {span.length:.3f} m',
            key=key,
        )
    return min(place, span.length)


def all_feeds(house: House) -> tuple[Feed, ...]:
    """Return all feeds; a line that none feeds hangs straight on the only supply there is.

    Raises
    ------
    InputError
        Several supplies, and nothing says which one feeds a line.
    """
    fed = {feed.line for feed in house.feeds}
    made = []
    for line in house.lines:
        if line.name not in fed:
            if len(house.supplies) > 1:
                raise InputError(
                    "nothing feeds it; add a [[feed]] that says which supply does",
                    key=f'line "{line.name}"',
                )
            made.append(
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
    return (*house.feeds, *made)


def distinct(values: F) -> F:
    """Return the values, rising, with those that are one place left out."""
    rising = np.sort(values)
    keep = np.ones(len(rising), bool)
    keep[1:] = np.diff(rising) > SAME
    return rising[keep]


def tie_positions(bus: Bus, span: LineSpan, unit: str) -> Iterator[float]:
    """Yield the places (m) where a bus is tied to its line."""
    start = position_on_line(bus.start, span, unit, f'bus "{bus.name}", start')
    stop = position_on_line(bus.stop, span, unit, f'bus "{bus.name}", stop')
    start, stop = min(start, stop), max(start, stop)
    if stop - start < SAME:
        raise InputError("starts where it stops", key=f'bus "{bus.name}"')
    steps = max(1, round((stop - start) / bus.every)) if bus.every else 1
    for k in range(steps + 1):
        yield start + (stop - start) * k / steps
