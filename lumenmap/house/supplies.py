"""What feeds a house: supplies, feeds and buses, and the habits that their cost follows."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Supply:
    """A source: V, and the A it may give all night."""

    name: str
    volts: float
    amps: float


@dataclass(frozen=True, slots=True)
class Feed:
    """A wire from a supply to a place on a line; ``length`` one way (m), ``fuse`` A or None."""

    name: str
    supply: str
    line: str
    at: str
    wire: str
    length: float
    fuse: float | None


@dataclass(frozen=True, slots=True)
class Bus:
    """A pair of wires alongside a line from ``start`` to ``stop``, tied to it every ``every`` m.

    Places are written as for `Feed.at`; it is tied at both ends in any case.
    """

    name: str
    line: str
    wire: str
    start: str
    stop: str
    every: float | None


@dataclass(frozen=True, slots=True)
class Wiring:
    """What holds for all wire of the house.

    Attributes
    ----------
    string
        Size of the conductors between pixels.
    ampacity
        The table that says how many amps a wire may carry.
    celsius
        Temperature of the copper.
    contact_ohms
        What a fuse with its holder and a joint add to each feed's positive.
    """

    string: str = "18 AWG"
    ampacity: str = "planner"
    celsius: float = 20.0
    contact_ohms: float = 0.0


@dataclass(frozen=True, slots=True)
class Habits:
    """How long the lights burn and what that costs: h an evening, evenings a season, price a kWh.

    ``efficiency``: watts out of the supply for each watt in from the wall.
    """

    hours: float = 5.0
    evenings: int = 40
    price: float | None = None
    efficiency: float = 0.85
