"""Where feeds and the ties of a bus connect to a line, in metres of wire from its start."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.units import length, show_length
from lumenmap.house.choices import Unit
from lumenmap.house.model import House
from lumenmap.house.supplies import Bus, Feed
from lumenmap.pixels.pixelmap import LineSpan

F = NDArray[np.float64]

#: Positions on a line nearer to each other than this (m) are one position.
SAME_POSITION = 1e-6


def position_on_line(text: str, span: LineSpan, unit: Unit, key: str) -> float:
    """Return a position on a line, m of wire from its start: start, middle, end or a length.

    Raises
    ------
    InputError
        None of these, or beyond the line's end.
    """
    named = {"start": 0.0, "middle": span.length / 2, "end": span.length}
    if text in named:
        return named[text]
    try:
        position = float(length(text, unit, what="position"))
    except InputError:
        raise InputError(
            f'is "{text[:40]}"; expected start, middle, end or a length like "12 ft"', key=key
        ) from None
    if not 0 <= position <= span.length + 1e-3:
        raise InputError(
            f'is "{text[:40]}", but the line is {show_length(span.length, unit)} long', key=key
        )
    return min(position, span.length)


def all_feeds(house: House) -> tuple[Feed, ...]:
    """Return all feeds; a line without one is connected straight to the only supply.

    Raises
    ------
    InputError
        A line without a feed where there are several supplies.
    """
    fed = {feed.line for feed in house.feeds}
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


def distinct(values: F) -> F:
    """Return the positions in rising order, without repeated ones."""
    rising = np.sort(values)
    keep = np.ones(len(rising), bool)
    keep[1:] = np.diff(rising) > SAME_POSITION
    return rising[keep]


def tie_positions(bus: Bus, span: LineSpan, unit: Unit) -> Iterator[float]:
    """Yield the positions (m) where a bus is tied to its line.

    Raises
    ------
    InputError
        A position that isn't on the line, or a bus of no length.
    """
    start = position_on_line(bus.start, span, unit, f'bus "{bus.name}", start')
    stop = position_on_line(bus.stop, span, unit, f'bus "{bus.name}", stop')
    start, stop = min(start, stop), max(start, stop)
    if stop - start < SAME_POSITION:
        raise InputError("starts and stops at the same position", key=f'bus "{bus.name}"')
    steps = max(1, round((stop - start) / bus.every)) if bus.every else 1
    for k in range(steps + 1):
        yield start + (stop - start) * k / steps
