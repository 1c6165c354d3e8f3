"""`Look`: time of day, weather, surroundings and exposure of a picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from lumenmap.core.errors import InputError, unknown

Time = Literal["day", "dusk", "night"]
TIMES: tuple[Time, ...] = get_args(Time)

#: Most stops that a person may add or take away.
STOPS = 6.0


@dataclass(frozen=True, slots=True)
class Look:
    """Time of day, whether there are snow, trees and a street lamp, and the exposure.

    ``stops`` are added to the house's own exposure; 1 doubles the light.

    Raises
    ------
    InputError
        An unknown time of day, or more than `STOPS`.
    """

    time: Time = "dusk"
    snow: bool = False
    trees: bool = True
    street_lamp: bool = False
    stops: float = 0.0

    def __post_init__(self) -> None:
        if self.time not in TIMES:
            raise InputError(unknown("time", self.time, TIMES), key="time")
        if not -STOPS <= self.stops <= STOPS:  # also for what isn't a number
            raise InputError(
                f"is {self.stops:g} stops; expected {-STOPS:g} to {STOPS:g}", key="exposure"
            )
