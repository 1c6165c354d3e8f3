"""`Look`: time of day, weather and surroundings of a picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from lumenmap.core.errors import InputError, unknown

Time = Literal["day", "dusk", "night"]
TIMES: tuple[Time, ...] = get_args(Time)


@dataclass(frozen=True, slots=True)
class Look:
    """Time of day, and whether there are snow, trees and a street lamp.

    Raises
    ------
    InputError
        An unknown time of day.
    """

    time: Time = "dusk"
    snow: bool = False
    trees: bool = True
    street_lamp: bool = False

    def __post_init__(self) -> None:
        if self.time not in TIMES:
            raise InputError(unknown("time", self.time, TIMES), key="time")
