"""The house file's shape: what a person writes, lengths read exactly in the file's own unit."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo

from lumenmap.core import units
from lumenmap.core.errors import InputError
from lumenmap.core.tables import Table

#: A house larger than this is a slip of the pen (m).
LARGEST = 500


def _length(value: Any, info: ValidationInfo) -> Fraction:
    if isinstance(value, Fraction):
        return value
    got = units.length(value, (info.context or {}).get("unit", "m"))
    if abs(got) > LARGEST:
        raise InputError(f'is "{value}": over {LARGEST} m, beyond any house; check the unit')
    return got


def _positive(value: Any, info: ValidationInfo) -> Fraction:
    got = _length(value, info)
    if got <= 0:
        raise InputError(f'is "{value}"; wanted a length over 0')
    return got


def _natural(value: Any, info: ValidationInfo) -> Fraction:
    got = _length(value, info)
    if got < 0:
        raise InputError(f'is "{value}"; it can\'t be negative')
    return got


_WRITTEN = Field(description='"12 ft 6 in", "2.4 in", "3.81 m"; a bare number: [house] unit')
Length = Annotated[Fraction, BeforeValidator(_length, json_schema_input_type=str | float), _WRITTEN]
Positive = Annotated[
    Fraction, BeforeValidator(_positive, json_schema_input_type=str | float), _WRITTEN
]
Natural = Annotated[
    Fraction, BeforeValidator(_natural, json_schema_input_type=str | float), _WRITTEN
]


Point = Annotated[tuple[Length, Length, Length], Field(strict=False)]


def _in(unit: str, what: str) -> Any:
    return BeforeValidator(
        lambda value: units.plain(value, unit, what=what), json_schema_input_type=str | float
    )


Slope = Annotated[float, BeforeValidator(units.slope, json_schema_input_type=str)]
Angle = Annotated[float, BeforeValidator(units.angle, json_schema_input_type=str | float)]
Volts = Annotated[float, _in("V", "volts"), Field(gt=0, le=60)]
Amps = Annotated[float, _in("A", "amps"), Field(gt=0, le=1000)]
Milliamps = Annotated[float, _in("mA", "current"), Field(ge=0, le=5000)]
Name = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[\w][\w ./'-]*$")]


class PlaceTable(Table):
    """``place``: where the house stands, for sunset."""

    latitude: float = Field(ge=-90, le=90, description="Degrees north.")
    longitude: float = Field(ge=-180, le=180, description="Degrees east.")
    timezone: str = Field(description='Its zone: "America/Los_Angeles".')


class HouseTable(Table):
    """``[house]``: its name and the unit of bare numbers."""

    name: Name
    unit: Literal["m", "cm", "mm", "ft", "in"] = Field(description="The unit of bare lengths.")
    place: PlaceTable | None = None


class OpeningTable(Table):
    """``[[mass.window]]`` and ``[[mass.door]]``: an opening in a wall, for the picture."""

    wall: Literal["front", "back", "left", "right"] = "front"
    at: Natural = Field(description="From the wall's left end, seen from outside, to its middle.")
    width: Positive
    height: Positive
    sill: Natural = Fraction(0)
    colour: str | None = Field(None, description="A CSS colour; doors only.")


class MassTable(Table):
    """``[[mass]]``: one block of the building; it makes corners, edges and faces."""

    name: Name
    roof: Literal["gable"] = Field("gable", description="The shape of its roof.")
    ridge: Literal["away", "across"] = Field(
        "away", description="away: the gable end faces front; across: the eave does."
    )
    width: Positive = Field(description="Left to right, wall to wall.")
    depth: Positive = Field(description="Front to back, wall to wall.")
    eave: Positive = Field(description="Height of the roof's lower edge above the base.")
    slope: Slope = Field(description='Rise in run, "8/12", or an angle, "33.7 deg".')
    overhang: Natural = Field(Fraction(0), description="How far the roof stands out, level.")
    position: tuple[Length, Length] = Field(
        (Fraction(0), Fraction(0)), description="x, y of its front-left wall corner.", strict=False
    )
    heading: Angle = Field(0.0, description="Turn about that corner, counter-clockwise, degrees.")
    base: Length = Field(Fraction(0), description="Height of its floor above the ground.")
    wall_colour: str = "#b8b09c"
    roof_colour: str = "#5a5350"
    trim_colour: str = "#ddd8cc"
    window: list[OpeningTable] = Field(default_factory=list, max_length=200)
    door: list[OpeningTable] = Field(default_factory=list, max_length=50)


class EdgeTable(Table):
    """``[[edge]]``: a line where pixels can run, by points."""

    name: Name
    kind: Literal["eave", "rake", "ridge", "hip", "valley", "fascia", "post", "rail line"] = "eave"
    points: list[Point] = Field(min_length=2, max_length=10_000, description="x, y, z of each.")
    facing: Angle | None = Field(None, description="Where its pixels shine, degrees; 0 is right.")
    measured: Positive | None = Field(None, description="Its length on your tape.")


class RailTable(Table):
    """``[rail]``: how pipe or channel is drilled."""

    length: Positive = Fraction(3)
    hole_spacing: Positive
    first_hole: Natural | None = Field(None, description="Half the spacing if left out.")


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


class StepTable(Table):
    """An item of a line's path in full: an edge, a jumper or spares."""

    edge: str | None = None
    reversed: bool = False
    jumper: Positive | None = None
    spares: int | None = Field(None, ge=1, le=10_000)


class LineTable(Table):
    """``[[line]]``: one data wire; its path in the order the data runs."""

    name: Name
    path: list[str | StepTable] = Field(min_length=1, max_length=10_000)
    universe: int = Field(1, ge=1, le=63999)
    order: str | None = Field(None, description="Channel order, if not the pixel's.")
    cuts: list[str] = Field(
        default_factory=list, description="Where its positive is cut, between two supplies."
    )


class SupplyTable(Table):
    """``[[supply]]``: a source and what it may give."""

    name: Name
    volts: Volts
    amps: Amps


class FeedTable(Table):
    """``[[feed]]``: a wire from a supply to a place on a line."""

    name: str = ""
    supply: str
    to: str = Field(description="The line it feeds.")
    at: str = Field("start", description="start, middle, end, or a distance along the line.")
    wire: str = "16 AWG"
    length: Natural = Field(Fraction(0), description="One way.")
    fuse: Amps | None = None


class BusTable(Table):
    """``[[bus]]``: a pair of wires alongside a line, tied to it at both ends and on the way."""

    name: str = ""
    along: str = Field(description="The line it runs beside.")
    start: str = Field("start", description="start, end, or a distance along the line.")
    stop: str = Field("end", description="start, end, or a distance along the line.")
    wire: str = "14 AWG"
    tie_every: Positive | None = Field(None, description="Between ties; at its ends only if none.")


class WiringTable(Table):
    """``[wiring]``: what holds for all wire of the house."""

    string: str = Field("18 AWG", description="The conductors between pixels.")
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


class HouseFile(Table):
    """A whole house file."""

    house: HouseTable
    mass: list[MassTable] = Field(default_factory=list, max_length=200)
    edge: list[EdgeTable] = Field(default_factory=list, max_length=2000)
    rail: RailTable
    pixel: PixelTable
    line: list[LineTable] = Field(min_length=1, max_length=200)
    supply: list[SupplyTable] = Field(min_length=1, max_length=50)
    feed: list[FeedTable] = Field(default_factory=list, max_length=500)
    bus: list[BusTable] = Field(default_factory=list, max_length=200)
    wiring: WiringTable = Field(default_factory=lambda: WiringTable.model_validate({}))
    energy: EnergyTable = Field(default_factory=lambda: EnergyTable.model_validate({}))
    group: dict[str, list[str]] = Field(default_factory=dict)
