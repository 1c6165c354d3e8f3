"""The electrical tables of a house file: pixels, lines, supplies, feeds, buses, energy."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated

from pydantic import BeforeValidator, Field

from lumenmap.core.errors import InputError
from lumenmap.core.names import Title
from lumenmap.core.quantity import Quantity
from lumenmap.core.tables import Table
from lumenmap.house.fields import Amps, Milliamps, Name, Natural, Positive, Volts
from lumenmap.parts.wires import wire


def _wire(value: object) -> str:
    if not isinstance(value, str):
        raise InputError(f'is {value!r:.40}; expected a wire size like "14 AWG" or "1.5 mm2"')
    return wire(value).name


def _position(value: object) -> str:
    """Return a position along a line as it is written; the file's unit is applied later."""
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise InputError(f"is {value!r:.40}; expected start, middle, end or a length")
    return str(value)


WireSize = Annotated[
    str, BeforeValidator(_wire), Quantity("wire size", '"14 AWG", "1.5 mm2", "1.5 mm2 flexible"')
]
Position = Annotated[
    str,
    BeforeValidator(_position, json_schema_input_type=str | float),
    Quantity("position", '"start", "middle", "end", or a length along the line'),
]


class PixelTable(Table):
    """``[pixel]``: the kind, and figures you measured in place of the table's."""

    kind: str = Field(description="A pixel kind; lumenmap help kinds lists them.")
    order: str | None = Field(None, description="Channel order on the wire: RGB, GRB…")
    volts: Volts | None = Field(None, description="Nominal voltage.")
    min_volts: Volts | None = Field(
        None, description="Lowest voltage at the pixel for full, true colour."
    )
    channel_ma: list[Milliamps] | None = Field(
        None, min_length=3, max_length=4, description="Current of red, green, blue (and white)."
    )
    idle_ma: Milliamps | None = Field(None, description="Current of a dark pixel.")
    bit_us: float | None = Field(
        None, gt=0, le=10, description="Time of a bit on the wire, microseconds."
    )
    reset_us: float | None = Field(
        None, gt=0, le=100_000, description="Low time that ends a frame, microseconds."
    )
    pwm_hz: float | None = Field(None, gt=0, le=1e6, description="Dimming frequency, hertz.")
    dominant_nm: list[float] | None = Field(
        None,
        min_length=3,
        max_length=3,
        description="Dominant wavelength of the red, green and blue die, nanometres.",
    )
    intensity: list[float] | None = Field(
        None,
        min_length=3,
        max_length=3,
        description="Luminous intensity of the red, green and blue die at full; any one unit.",
    )


class StepTable(Table):
    """An item of a line's path in full: an edge or part of it, a jumper, or hidden pixels."""

    edge: str | None = Field(None, description="The edge that this item follows.")
    reversed: bool = Field(False, description="Whether the data runs from the edge's end.")
    start: Natural | None = Field(
        None, description="Where its part of the edge begins, from the edge's own start."
    )
    stop: Natural | None = Field(
        None, description="Where its part of the edge ends, from the edge's own start."
    )
    jumper: Positive | None = Field(None, description="Length of wire without pixels.")
    spares: int | None = Field(
        None, ge=1, le=10_000, description="Number of hidden or dead pixels here."
    )


class LineTable(Table):
    """``[[line]]``: one data wire; its path in the order the data runs."""

    name: Name = Field(description="The line's name.")
    path: list[str | StepTable] = Field(
        min_length=1,
        max_length=2000,
        description="What the data passes, in order: edges, edges as "
        '"main/rake-left reversed", or items as in the table below.',
    )
    universe: int | None = Field(
        None,
        ge=1,
        le=63999,
        description="Its first E1.31 universe; the next free one if left out.",
    )
    order: str | None = Field(None, description="Channel order, if it isn't that of [pixel].")
    pixels: int | None = Field(
        None,
        ge=1,
        le=200_000,
        description="How many pixels your strings have; checked against the holes.",
    )
    dead: list[Annotated[int, Field(ge=1)]] = Field(
        default_factory=list,
        description="Pixels that stay dark, by their numbers on the line, counted from 1.",
    )
    cuts: list[Position] = Field(
        default_factory=list, description="Where its positive wire is cut between two supplies."
    )


class SupplyTable(Table):
    """``[[supply]]``: a source and what it may give."""

    name: Name = Field(description="The supply's name.")
    volts: Volts = Field(description="Its output voltage.")
    amps: Amps = Field(
        description="The current that it may give for hours: 80 % of its label is usual."
    )


class FeedTable(Table):
    """``[[feed]]``: a wire from a supply to a place on a line."""

    name: Title = Field(
        "", max_length=80, description="Its name; the supply, line and place if left out."
    )
    supply: str = Field(description="The supply it comes from.")
    to: str = Field(description="The line it feeds.")
    at: Position = Field("start", description="Where it connects to the line.")
    wire: WireSize = Field("16 AWG", description="The size of each of its two wires.")
    length: Natural = Field(Fraction(0), description="Its length, one way.")
    fuse: Amps | None = Field(None, description="The fuse at its supply end.")


class BusTable(Table):
    """``[[bus]]``: a pair of wires alongside a line, tied to it at both ends and between."""

    name: Title = Field("", max_length=80, description="Its name; bus 1, bus 2… if left out.")
    along: str = Field(description="The line that it runs alongside.")
    start: Position = Field("start", description="Where on the line it begins.")
    stop: Position = Field("end", description="Where on the line it ends.")
    wire: WireSize = Field("14 AWG", description="The size of each of its two wires.")
    tie_every: Positive | None = Field(
        None, description="Distance between ties; tied at its ends only if left out."
    )


class WiringTable(Table):
    """``[wiring]``: what applies to all wire of the house."""

    string: WireSize = Field("18 AWG", description="Size of the string's own wires.")
    ampacity: str = Field(
        "planner",
        description="Table of the current a wire may carry; lumenmap help house lists them.",
    )
    celsius: float = Field(
        20.0, ge=-60, le=105, description="Temperature of the copper, in Celsius."
    )
    contact_milliohms: float = Field(
        0.0, ge=0, le=1000, description="Resistance of fuse, holder and joints on each feed."
    )


class EnergyTable(Table):
    """``[energy]``: how long the lights burn and what that costs."""

    hours: float = Field(5.0, gt=0, le=24, description="Hours that the lights are on each evening.")
    evenings: int = Field(40, ge=1, le=366, description="Evenings a season.")
    price: float | None = Field(None, ge=0, le=100, description="Price of a kWh, in your currency.")
    efficiency: float = Field(0.85, gt=0.1, le=1, description="Efficiency of the supplies.")
