"""The tables of a house file about pixels, the strings they are sold in, and the lines they make.

With them how sizes of wire and places on a line are written.
"""

from typing import Annotated

from pydantic import Field, ValidationInfo

from lumenmap.core.errors import InputError
from lumenmap.core.plain import shown
from lumenmap.core.quantity import Quantity
from lumenmap.core.toml.tables import Table
from lumenmap.house.positions import CUTS, PLACES
from lumenmap.house.reading.fields import (
    Amps,
    Milliamps,
    Name,
    Natural,
    PlaceOnEdge,
    Positive,
    Volts,
)
from lumenmap.parts.wires import wire


def _wire(value: object, _: ValidationInfo) -> str:
    if not isinstance(value, str):
        raise InputError(f'is {shown(value)}; expected a wire size like "14 AWG" or "1.5 mm2"')
    return wire(value).name


def _position(value: object, _: ValidationInfo) -> str:
    """Return a position along a line as it is written; the file's unit is applied later."""
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise InputError(f"is {shown(value)}; expected {PLACES}")
    return str(value)


WireSize = Annotated[
    str,
    Quantity("wire size", '"14 AWG", "18 AWG stranded", "1.5 mm2", "1.5 mm2 solid"', _wire, str),
]
Position = Annotated[
    str, Quantity("position", f"{PLACES}; start and end are connectors too", _position)
]
Cut = Annotated[str, Quantity("cut", CUTS, _position)]


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
    start: PlaceOnEdge | None = Field(
        None,
        description='Where its part of the edge begins, from the edge\'s own start; "meets main": '
        "where it comes out of that mass.",
    )
    stop: PlaceOnEdge | None = Field(
        None,
        description='Where its part of the edge ends, from the edge\'s own start; "meets main": '
        "where it goes into that mass.",
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
        [],
        description="Pixels that stay dark, by their numbers on the line, counted from 1.",
    )
    cuts: list[Cut] = Field(
        [],
        description="Where its positive wire is cut; minus and data stay whole.",
    )
    lead: Natural | None = Field(
        None,
        description="Length of the data wire from the controller to pixel 1, for the sheets.",
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
