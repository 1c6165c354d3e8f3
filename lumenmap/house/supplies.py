"""What feeds a house: supplies, feeds and buses, what applies to all wire, and hours of use."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Supply:
    """A power supply: its voltage (V), and the current it may deliver all night (A)."""

    name: str
    volts: float
    amps: float


@dataclass(frozen=True, slots=True)
class Feed:
    """A pair of wires from a supply to a position on a line.

    ``at`` is ``start``, ``middle``, ``end`` or a length along the line; ``length`` one way (m);
    ``fuse`` in A, or None.
    """

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

    Positions are written as for `Feed.at`. Both ends are tied in any case.
    """

    name: str
    line: str
    wire: str
    start: str
    stop: str
    every: float | None


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A danger that the owner accepts: its code, the feed or line it is about, and the reason."""

    finding: str
    of: str
    reason: str


@dataclass(frozen=True, slots=True)
class WireDefaults:
    """What applies to all wire of the house: ``[wiring]``.

    Attributes
    ----------
    string
        Size of the conductors between pixels.
    ampacity
        The table of how much current a wire may carry.
    celsius
        Temperature of the copper.
    contact_ohms
        Resistance that a fuse with its holder and a joint add to each feed's positive conductor.
    accept
        Dangers that are passed.
    """

    string: str = "18 AWG"
    ampacity: str = "planner"
    celsius: float = 20.0
    contact_ohms: float = 0.0
    accept: tuple[Acceptance, ...] = ()


@dataclass(frozen=True, slots=True)
class Usage:
    """How long the lights are on, and the price of energy: ``[energy]``.

    ``hours`` an evening, ``evenings`` a season, ``price`` of a kWh; ``efficiency`` of the supply,
    output over input power.
    """

    hours: float = 5.0
    evenings: int = 40
    price: float | None = None
    efficiency: float = 0.85
