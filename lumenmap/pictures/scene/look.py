"""`Look`: the hour, the weather and the scenery of a picture."""

from __future__ import annotations

from dataclasses import dataclass

from lumenmap.core.errors import InputError, unknown

#: Hours a picture can show.
TIMES = ("day", "dusk", "night")


@dataclass(frozen=True, slots=True)
class Look:
    """What is round the house: ``time`` one of `TIMES`; snow, trees and a street lamp or not.

    Raises
    ------
    InputError
        An hour that there is no sky for.
    """

    time: str = "dusk"
    snow: bool = False
    trees: bool = True
    street_lamp: bool = False

    def __post_init__(self) -> None:
        if self.time not in TIMES:
            raise InputError(unknown("time", self.time, TIMES), key="--time")
