"""Universes: which of them carry a line's pixels.

A line's pixels fill universes from the line's first one on, and no pixel is split between two: 170
RGB pixels take 510 of a universe's 512 slots, 128 RGBW pixels all 512. Packing tighter would show
a wrong colour at each seam whenever one of two packets is late.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from lumenmap.core.errors import InputError

#: ANSI E1.31-2018, 6.2.7 and 7.6 (after the start code).
LOWEST_UNIVERSE, HIGHEST_UNIVERSE, MOST_SLOTS = 1, 63999, 512


class NumberedLine(Protocol):
    """A data line: its pixels of the frame, and its first universe."""

    @property
    def name(self) -> str: ...  # noqa: D102
    @property
    def first(self) -> int: ...  # noqa: D102
    @property
    def count(self) -> int: ...  # noqa: D102
    @property
    def universe(self) -> int: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class Universe:
    """One universe, and the pixels of the frame that its slots carry.

    Attributes
    ----------
    number
        1 to 63999.
    line
        Name of the data line.
    first, count
        Pixels of the frame, in wiring order.
    start
        Index of the first pixel on its line, from 0.
    channels
        Slots per pixel.
    """

    number: int
    line: str
    first: int
    count: int
    start: int
    channels: int

    @property
    def slots(self) -> int:
        """Slots in use."""
        return self.count * self.channels

    @property
    def octets(self) -> slice:
        """Its octets of a frame of pixels × channels."""
        return slice(self.first * self.channels, (self.first + self.count) * self.channels)


def check_universe(universe: int, what: str = "universe") -> int:
    """Return ``universe`` if data may be sent on it, 1 to 63999.

    Raises
    ------
    InputError
        It may not (E1.31 6.2.7).
    """
    if not LOWEST_UNIVERSE <= universe <= HIGHEST_UNIVERSE:
        raise InputError(
            f"{what} is {universe}; E1.31 has universes {LOWEST_UNIVERSE} to {HIGHEST_UNIVERSE}"
        )
    return universe


def pixels_per_universe(channels: int) -> int:
    """Return how many whole pixels a universe carries.

    >>> pixels_per_universe(3), pixels_per_universe(4)
    (170, 128)
    """
    return MOST_SLOTS // channels


def universes_needed(count: int, channels: int) -> int:
    """Return how many universes a line of ``count`` pixels takes, at least one.

    >>> [universes_needed(n, 3) for n in (0, 170, 171)]
    [1, 1, 2]
    """
    return max(1, -(-count // pixels_per_universe(channels)))


def number_universes(lines: Iterable[tuple[int, int | None]], channels: int) -> list[int]:
    """Return the first universe of each line.

    A line that gives none takes the next after the line before it.

    Parameters
    ----------
    lines
        (pixels, first universe or None) of each line.

    >>> number_universes([(171, None), (10, None), (10, 7), (10, None)], 3)
    [1, 3, 7, 8]
    """
    numbers, free = [], LOWEST_UNIVERSE
    for count, given in lines:
        numbers.append(free if given is None else given)
        free = numbers[-1] + universes_needed(count, channels)
    return numbers


def plan_universes(lines: Sequence[NumberedLine], channels: int) -> tuple[Universe, ...]:
    """Spread the pixels of the lines over universes.

    Raises
    ------
    InputError
        A universe outside 1 to 63999, or one that two lines would share.
    """
    per = pixels_per_universe(channels)
    taken: dict[int, str] = {}
    planned = []
    for line in lines:
        key = f'line "{line.name}"'
        needed = universes_needed(line.count, channels)
        try:
            check_universe(line.universe)
        except InputError as error:
            raise error.at(key=key) from None
        if line.universe + needed - 1 > HIGHEST_UNIVERSE:
            raise InputError(
                f"{line.count} pixels need {needed} universes from {line.universe}; "
                f"the last one is {HIGHEST_UNIVERSE}",
                key=key,
            )
        for i in range(needed):
            number = line.universe + i
            if number in taken:
                raise InputError(
                    f'universe {number} is already taken by line "{taken[number]}"; '
                    f"the {line.count} pixels here need {needed} from {line.universe}",
                    key=key,
                )
            taken[number] = line.name
            count = min(per, line.count - i * per)
            planned.append(
                Universe(number, line.name, line.first + i * per, count, i * per, channels)
            )
    return tuple(planned)
