"""The tables of a house file about supplies, the wires from them, and energy."""

from fractions import Fraction
from typing import Literal

from pydantic import Field

from lumenmap.core.names import Sentence, Title
from lumenmap.core.toml.tables import Table
from lumenmap.house.choices import Acceptable
from lumenmap.house.reading.fields import Amps, Celsius, Name, Natural, Positive, Volts
from lumenmap.house.reading.strings import Position, WireSize


class SupplyTable(Table):
    """``[[supply]]``: a source and what it may give."""

    name: Name = Field(description="The supply's name.")
    volts: Volts = Field(description="Its output voltage.")
    amps: Amps | None = Field(
        None, description="The current that it may give for hours, by its data sheet."
    )
    label_amps: Amps | None = Field(
        None, description="The current on its label; 80 % of it counts if amps is left out."
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
        [],
        max_length=500,
        description="Where it is tied to the line, in place of tie_every: two places or more.",
    )
    tie_fuse: Amps | None = Field(None, description="The fuse in each tie.")


class AcceptTable(Table):
    """An item of ``accept``: a danger that stays, and why."""

    finding: Acceptable = Field(description="Which danger: what lumenmap power calls it.")
    of: Title = Field(description="The feed or line that it is about.")
    reason: Sentence = Field(
        min_length=10, description="Why it may stay. Every report repeats this sentence."
    )


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
        description="How many conductors that carry current lie together in one pipe; from 4 on, "
        "each may carry less. If left out: two of the string, and two of each bus and trunk along "
        "it.",
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
    accept: list[AcceptTable] = Field(
        [],
        max_length=100,
        description="Dangers that lumenmap is to pass, each with a reason: the only way past them.",
    )


class EnergyTable(Table):
    """``[energy]``: how long the lights burn and what that costs."""

    hours: float = Field(5.0, gt=0, le=24, description="Hours that the lights are on each evening.")
    evenings: int = Field(40, ge=1, le=366, description="Evenings a season.")
    price: float | None = Field(None, ge=0, le=100, description="Price of a kWh, in your currency.")
    efficiency: float = Field(0.85, gt=0.1, le=1, description="Efficiency of the supplies.")
