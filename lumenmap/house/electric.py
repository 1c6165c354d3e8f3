"""The electrical tables of a house file: pixels, lines, supplies, feeds, buses, energy."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated

from pydantic import BeforeValidator, Field

from lumenmap.core.errors import InputError
from lumenmap.core.tables import Table
from lumenmap.house.fields import Amps, Milliamps, Name, Natural, Positive, Volts
from lumenmap.parts.wires import wire


def _wire(value: object) -> str:
    if not isinstance(value, str):
        raise InputError(f'is {value!r:.40}; wanted something like "14 AWG" or "1.5 mm2"')
    return wire(value).name


def _spot(value: object) -> str:
    """Keep a place along a line as it is written; a bare number is in the file's unit."""
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise InputError(f"is {value!r:.40}; wanted start, middle, end or a length")
    return str(value)


WireSize = Annotated[str, BeforeValidator(_wire)]
Spot = Annotated[str, BeforeValidator(_spot, json_schema_input_type=str | float)]


class PixelTable(Table):
    """``[pixel]``: the kind, and figures you measured in place of the table's."""

    kind: str = Field(description="A row of the table of pixel kinds.")
    order: str | None = Field(None, description="Channel order on the wire: RGB, GRB…")
    volts: Volts | None = None
    min_volts: Volts | None = None
    channel_ma: list[Milliamps] | None = Field(None, min_length=3, max_length=4)
    idle_ma: Milliamps | None = None
    bit_us: float | None = Field(None, gt=0, le=10)
    reset_us: float | None = Field(None, gt=0, le=100_000)
    pwm_hz: float | None = Field(None, gt=0, le=1e6)
    dominant_nm: list[float] | None = Field(
        None, min_length=3, max_length=3, description="Of its red, green and blue die, for colour."
    )
    intensity: list[float] | None = Field(
        None, min_length=3, max_length=3, description="Of the same at full, in any one unit."
    )


class StepTable(Table):
    """An item of a line's path in full: an edge or part of it, a jumper, or spares."""

    edge: str | None = None
    reversed: bool = False
    start: Natural | None = Field(None, description="Where it enters, from the edge's own start.")
    stop: Natural | None = Field(None, description="How far it runs, from the edge's own start.")
    jumper: Positive | None = Field(None, description="Wire without pixels.")
    spares: int | None = Field(None, ge=1, le=10_000, description="Hidden or dead pixels.")


class LineTable(Table):
    """``[[line]]``: one data wire; its path in the order the data runs."""

    name: Name
    path: list[str | StepTable] = Field(min_length=1, max_length=2000)
    universe: int | None = Field(
        None, ge=1, le=63999, description="Its first; after the line before it if left out."
    )
    order: str | None = Field(None, description="Channel order, if not the pixel's.")
    pixels: int | None = Field(
        None, ge=1, le=200_000, description="How many your strings have; checked with the holes."
    )
    dead: list[Annotated[int, Field(ge=1)]] = Field(
        default_factory=list, description="Numbers on the line, from 1, of pixels that stay dark."
    )
    cuts: list[Spot] = Field(
        default_factory=list, description="Where its positive is cut between two supplies."
    )


class SupplyTable(Table):
    """``[[supply]]``: a source and what it may give."""

    name: Name
    volts: Volts
    amps: Amps


class FeedTable(Table):
    """``[[feed]]``: a wire from a supply to a place on a line."""

    name: str = Field("", max_length=80)
    supply: str
    to: str = Field(description="The line it feeds.")
    at: Spot = Field("start", description="start, middle, end, or a distance along the line.")
    wire: WireSize = "16 AWG"
    length: Natural = Field(Fraction(0), description="One way.")
    fuse: Amps | None = None


class BusTable(Table):
    """``[[bus]]``: a pair of wires alongside a line, tied to it at both ends and on the way."""

    name: str = Field("", max_length=80)
    along: str = Field(description="The line it runs beside.")
    start: Spot = Field("start", description="start, middle, end, or a distance along the line.")
    stop: Spot = Field("end", description="start, middle, end, or a distance along the line.")
    wire: WireSize = "14 AWG"
    tie_every: Positive | None = Field(None, description="Between ties; at its ends only if none.")


class WiringTable(Table):
    """``[wiring]``: what holds for all wire of the house."""

    string: WireSize = Field("18 AWG", description="The conductors between pixels.")
    ampacity: str = Field("planner", description="The table of amps a wire may carry.")
    celsius: float = Field(20.0, ge=-60, le=105, description="Temperature of the copper.")
    contact_milliohms: float = Field(
        0.0, ge=0, le=1000, description="A fuse, its holder and a joint, on each feed."
    )


class EnergyTable(Table):
    """``[energy]``: how long the lights burn and what that costs."""

    hours: float = Field(5.0, gt=0, le=24, description="Hours an evening.")
    evenings: int = Field(40, ge=1, le=366, description="Evenings a season.")
    price: float | None = Field(None, ge=0, le=100, description="Of a kWh, in your money.")
    efficiency: float = Field(0.85, gt=0.1, le=1, description="The supply's, wall to wire.")
