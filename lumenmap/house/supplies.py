"""What feeds a house: supplies, wires, strings, what applies to all of them, and hours of use.

Places on a line are kept as they are written: see `positions`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from lumenmap.core.errors import InputError
from lumenmap.parts.ampacity import AMPACITY, ampacity, bundle_factor, heat_factor
from lumenmap.parts.wires import Wire


@dataclass(frozen=True, slots=True)
class Supply:
    """A power supply: its voltage (V), and the current it may deliver for hours (A).

    ``label`` is the current on its label (A), if the file gives it.
    """

    name: str
    volts: float
    amps: float
    label: float | None = None

    @property
    def rating(self) -> str:
        """What it is bought by: its volts, and its label's amps, which aren't those it gives."""
        if self.label is None:
            return f"{self.volts:g} V, {self.amps:.4g} A for hours"
        return f"{self.volts:g} V, {self.label:.4g} A on its label"


@dataclass(frozen=True, slots=True)
class Feed:
    """A pair of wires from a supply to a position on a line.

    ``length`` one way (m); ``fuse`` in A, or None.
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
    """A pair of wires alongside a line from ``start`` to ``stop``, tied to it.

    It is tied at the positions ``ties`` if there are any, otherwise at both ends and every
    ``every`` m. Each tie has a fuse of ``tie_fuse`` A, or none.
    """

    name: str
    line: str
    wire: str
    start: str
    stop: str
    every: float | None
    ties: tuple[str, ...] = ()
    tie_fuse: float | None = None


@dataclass(frozen=True, slots=True)
class Trunk:
    """A pair of wires from a supply, then alongside a line from ``start`` to ``stop``.

    ``length`` is its lead-in from the supply to ``start``, one way (m); ``fuse`` in A, or None.
    """

    name: str
    supply: str
    line: str
    start: str
    stop: str
    wire: str
    length: float
    fuse: float | None


@dataclass(frozen=True, slots=True)
class Tap:
    """A pair of wires from a trunk to its line; ``at`` is empty for the nearest connector.

    ``length`` one way (m); ``fuse`` in A, at the trunk, or None.
    """

    name: str
    trunk: str
    at: str
    wire: str
    length: float
    fuse: float | None


class StringMake(NamedTuple):
    """How the pixels are sold; the string's wire is `WireDefaults.string`.

    Attributes
    ----------
    pixels
        In one string; None if there are no connectors on the way, or they aren't known.
    spacing
        Of the string's own wire between two pixels (m); None: as far as the holes.
    tail
        Wire from a string's first or last pixel to its connector (m).
    contact_ohms
        Resistance of each contact of a mated connector.
    connector_amps
        What a contact may carry; None if unknown.
    """

    pixels: int | None = None
    spacing: float | None = None
    tail: float = 0.0
    contact_ohms: float = 0.0
    connector_amps: float | None = None


class Acceptance(NamedTuple):
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
        Resistance that a fuse with its holder and joint adds to the positive conductor.
    ambient
        Temperature round the wires (°C).
    insulation
        Temperature that their insulation is made for (°C).
    conductors
        How many that carry current lie together in one pipe; None: as many as are counted.
    accept
        Dangers that are passed.
    """

    string: str = "18 AWG"
    ampacity: str = "planner"
    celsius: float = 40.0
    contact_ohms: float = 0.0
    ambient: float = 40.0
    insulation: float = 75.0
    conductors: int | None = None
    accept: tuple[Acceptance, ...] = ()

    def derating(self, together: int = 2) -> float:
        """Return the part of the table's amps that is left, for heat and for bundling.

        Parameters
        ----------
        together
            Conductors counted in the same pipe, if the house file doesn't say.

        Raises
        ------
        InputError
            Air as hot as the insulation may get.
        """
        try:
            heat = heat_factor(self.ambient, self._rated)
        except InputError as error:
            raise error.at(key="wiring.ambient") from None
        return heat * bundle_factor(self.conductors or together)

    @property
    def basis(self) -> str:
        """What the table's amps are taken times, for a report."""
        crowd = (
            f"and {self.conductors} conductors in a pipe"
            if self.conductors
            else "and less with more than three conductors in a pipe"
        )
        return (
            f"times {self.derating():.2g} for air of {self.ambient:g} C round insulation for "
            f"{self._rated:g} C, {crowd} (NEC23 310.15(B)(1)(1) and (C)(1) [P])"
        )

    @property
    def _rated(self) -> float:
        """Temperature that insulation and terminals are for (°C)."""
        table = AMPACITY.get(self.ampacity)
        return min(self.insulation, (table.insulation if table else None) or self.insulation)

    def may_carry(self, size: Wire, together: int = 2) -> float:
        """Return the A that a wire may carry: by the table, derated.

        Raises
        ------
        InputError
            As `ampacity` and `derating`.
        """
        # Rounded down to a hundredth of an ampere, but 15 A derated by 0.8 is 12 A.
        amps = ampacity(size, self.ampacity) * self.derating(together)
        return math.floor(100 * amps + 1e-6) / 100


class Usage(NamedTuple):
    """How long the lights are on, and the price of energy: ``[energy]``.

    ``hours`` an evening, ``evenings`` a season, ``price`` of a kWh; ``efficiency`` of the supply,
    output over input power.
    """

    hours: float = 5.0
    evenings: int = 40
    price: float | None = None
    efficiency: float = 0.85
