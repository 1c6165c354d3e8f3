"""The electrical tables of a house file: pixels, lines, strings, supplies, wires, energy."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from lumenmap.core.errors import InputError
from lumenmap.core.names import Title
from lumenmap.core.quantity import Quantity
from lumenmap.core.tables import Table
from lumenmap.house.fields import Amps, Celsius, Milliamps, Name, Natural, Positive, Volts
from lumenmap.house.supplies import PLACES
from lumenmap.parts.wires import wire


def _wire(value: object) -> str:
    if not isinstance(value, str):
        raise InputError(f'is {value!r:.40}; expected a wire size like "14 AWG" or "1.5 mm2"')
    return wire(value).name


def _position(value: object) -> str:
    """Return a position along a line as it is written; the file's unit is applied later."""
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise InputError(f"is {value!r:.40}; expected {PLACES}")
    return str(value)


WireSize = Annotated[
    str,
    BeforeValidator(_wire),
    Quantity("wire size", '"14 AWG", "18 AWG stranded", "1.5 mm2", "1.5 mm2 solid"'),
]
Position = Annotated[
    str,
    BeforeValidator(_position, json_schema_input_type=str | float),
    Quantity("position", f"{PLACES}; start and end are connectors too"),
]
Cut = Annotated[
    str,
    BeforeValidator(_position, json_schema_input_type=str | float),
    Quantity("cut", '"after pixel 80", "connector 2", or a length along the line'),
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
    white_kelvin: float | None = Field(
        None, description="Colour temperature of the white die, kelvins."
    )
    white_intensity: float | None = Field(
        None,
        description="Luminous intensity of the white die at full, in the unit of intensity; lumens "
        "will do if all four are in lumens.",
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
    cuts: list[Cut] = Field(
        default_factory=list,
        description="Where its positive wire is cut; minus and data stay whole.",
    )


class StringTable(Table):
    """``[string]``: how the pixels are sold."""

    pixels: int | None = Field(
        None,
        ge=1,
        le=10_000,
        description="In one string; there is a connector at each end of it.",
    )
    spacing: Positive | None = Field(
        None,
        description="Of the string's own wire from pixel to pixel; it may be longer than the hole "
        "spacing. As far as the holes if left out.",
    )
    wire: WireSize | None = Field(
        None, description='Size of its own wires; "18 AWG stranded" if left out.'
    )
    tail: Natural | None = Field(
        None,
        description="Wire from its first and last pixel to the connector there; 6 in if left out "
        "and pixels is given.",
    )
    connector_milliohms: float | None = Field(
        None,
        ge=0,
        le=1000,
        description="Resistance of each contact of a mated connector; 10 if left out and pixels "
        "is given.",
    )
    connector_amps: Amps | None = Field(
        None, description="What a contact of the connector may carry, by its data sheet."
    )


class SupplyTable(Table):
    """``[[supply]]``: a source and what it may give."""

    name: Name = Field(description="The supply's name.")
    volts: Volts = Field(description="Its output voltage.")
    amps: Amps | None = Field(
        None, description="The current that it may give for hours, by its data sheet."
    )
    label_amps: Amps | None = Field(
        None, description="The current on its label; it may give 80 % of it, if amps is left out."
    )


class FeedTable(Table):
    """``[[feed]]``: a wire from a supply to a place on a line."""

    name: Title = Field(
        "", max_length=80, description="Its name; the supply, line and place if left out."
    )
    supply: str = Field(description="The supply it comes from.")
    to: str = Field(description="The line it feeds.")
    at: Position = Field("start", description="Where it connects to the line.")
    wire: WireSize = Field("16 AWG stranded", description="The size of each of its two wires.")
    length: Natural = Field(Fraction(0), description="Its length, one way.")
    fuse: Amps | None = Field(None, description="The fuse at its supply end.")


class TrunkTable(Table):
    """``[[trunk]]``: one heavy pair of wires from a supply and along a line, for taps."""

    name: Title = Field("", max_length=80, description="Its name; trunk 1, trunk 2… if left out.")
    supply: str = Field(description="The supply it comes from.")
    along: str = Field(description="The line that it runs alongside.")
    start: Position = Field("start", description="Where on the line its lead-in arrives.")
    stop: Position = Field("end", description="Where on the line it ends.")
    wire: WireSize = Field("12 AWG stranded", description="The size of each of its two wires.")
    length: Natural = Field(
        Fraction(0), description="Length of its lead-in, from the supply to start, one way."
    )
    fuse: Amps | None = Field(None, description="The fuse at its supply end.")


class TapTable(Table):
    """``[[tap]]``: a short pair of wires from a trunk to its line."""

    name: Title = Field(
        "", max_length=80, description="Its name; the trunk and the place if left out."
    )
    trunk: str = Field(description="The trunk it comes from.")
    at: Position | None = Field(
        None,
        description="Where it connects to the line; the connector nearest to the trunk's far end "
        "if left out.",
    )
    wire: WireSize = Field("18 AWG stranded", description="The size of each of its two wires.")
    length: Natural = Field(Fraction(0), description="Its length, one way.")
    fuse: Amps | None = Field(None, description="The fuse where it leaves the trunk.")


class BusTable(Table):
    """``[[bus]]``: a pair of wires alongside a line, tied to it at both ends and between."""

    name: Title = Field("", max_length=80, description="Its name; bus 1, bus 2… if left out.")
    along: str = Field(description="The line that it runs alongside.")
    start: Position = Field("start", description="Where on the line it begins.")
    stop: Position = Field("end", description="Where on the line it ends.")
    wire: WireSize = Field("14 AWG stranded", description="The size of each of its two wires.")
    tie_every: Positive | None = Field(
        None, description="Distance between ties; tied at its ends only if left out."
    )
    ties: list[Position] = Field(
        default_factory=list,
        max_length=500,
        description="Where it is tied to the line, in place of tie_every: two places or more.",
    )
    tie_fuse: Amps | None = Field(None, description="The fuse in each tie.")


class WiringTable(Table):
    """``[wiring]``: what applies to all wire of the house."""

    string: WireSize | None = Field(
        None, description="Size of the string's own wires: a short form of [string] wire."
    )
    ampacity: str = Field(
        "planner",
        description="Table of the current a wire may carry; lumenmap help house lists them.",
    )
    ambient: Celsius | None = Field(
        None,
        description="The air round the wires while the lights burn; 40 C, a pipe in the sun, if "
        "left out. Above 30 C a wire may carry less.",
    )
    insulation: Literal[60, 75, 90] = Field(
        75, description="The temperature that the wires' insulation is for, in Celsius."
    )
    conductors: int | None = Field(
        None,
        ge=1,
        le=100,
        description="How many that carry current lie together in one pipe, from 4 on a wire may "
        "carry less; two of the string and two of each bus and trunk along it if left out.",
    )
    celsius: float | None = Field(
        None,
        ge=-60,
        le=105,
        description="Temperature of the copper, in Celsius; that of ambient if left out.",
    )
    contact_milliohms: float = Field(
        0.0, ge=0, le=1000, description="Resistance of each fuse with its holder and joints."
    )


class EnergyTable(Table):
    """``[energy]``: how long the lights burn and what that costs."""

    hours: float = Field(5.0, gt=0, le=24, description="Hours that the lights are on each evening.")
    evenings: int = Field(40, ge=1, le=366, description="Evenings a season.")
    price: float | None = Field(None, ge=0, le=100, description="Price of a kWh, in your currency.")
    efficiency: float = Field(0.85, gt=0.1, le=1, description="Efficiency of the supplies.")
