"""Pixels to universes: a line's pixels fill universes from its first, and none is split.

170 RGB pixels take 510 of a universe's 512 slots, 128 RGBW pixels all 512. Packing tighter would
show a wrong colour at each seam whenever one of two packets is late.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from lumenmap.core.errors import InputError

#: ANSI E1.31-2018, 6.2.7 and 7.6 (after the start code).
LOWEST_UNIVERSE, HIGHEST_UNIVERSE, MOST_SLOTS = 1, 63999, 512


class WireLine(Protocol):
    """What is asked of a line: its pixels in the frame, and its first universe."""

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
    """One universe: which pixels of the frame its slots carry.

    Attributes
    ----------
    number
        1 to 63999.
    line
        Name of the data line.
    first, count
        Pixels of the frame, in wiring order.
    start
        The first pixel's place on its line, from 0.
    channels
        Slots a pixel takes.
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
        It may not (6.2.7).
    """
    if not LOWEST_UNIVERSE <= universe <= HIGHEST_UNIVERSE:
        raise InputError(
            f"{what} is {universe}; E1.31 has universes {LOWEST_UNIVERSE} to {HIGHEST_UNIVERSE}"
        )
    return universe


def pixels_a_universe(channels: int) -> int:
    """Return how many whole pixels a universe carries.

    >>> pixels_a_universe(3), pixels_a_universe(4)
    (170, 128)
    """
    return MOST_SLOTS // channels


def plan_universes(lines: Sequence[WireLine], channels: int) -> tuple[Universe, ...]:
    """Lay the lines' pixels out over universes.

    Raises
    ------
    InputError
        A universe outside 1 to 63999, or one that two lines would share.
    """
    per = pixels_a_universe(channels)
    taken: dict[int, str] = {}
    planned = []
    for line in lines:
        key = f'line "{line.name}"'
        needed = max(1, -(-line.count // per))
        try:
            check_universe(line.universe)
        except InputError as error:
            raise error.at(key=key) from None
        if line.universe + needed - 1 > HIGHEST_UNIVERSE:
            raise InputError(
                f"its {line.count} pixels need {needed} universes from {line.universe}; "
                f"the last there is {HIGHEST_UNIVERSE}",
                key=key,
            )
        for i in range(needed):
            number = line.universe + i
            if number in taken:
                raise InputError(
                    f'universe {number} is also taken by line "{taken[number]}"; '
                    f"the {line.count} pixels here need {needed} from {line.universe}",
                    key=key,
                )
            taken[number] = line.name
            count = min(per, line.count - i * per)
            planned.append(
                Universe(number, line.name, line.first + i * per, count, i * per, channels)
            )
    return tuple(planned)
