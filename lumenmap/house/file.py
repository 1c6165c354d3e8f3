"""The house file's shape: what a person writes, lengths read exactly in the file's own unit."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from lumenmap.core.geography import time_zone
from lumenmap.core.tables import Table
from lumenmap.house.electric import (
    BusTable,
    EnergyTable,
    FeedTable,
    LineTable,
    PixelTable,
    SupplyTable,
    WiringTable,
)
from lumenmap.house.fields import (
    Angle,
    Celsius,
    LegSlope,
    Length,
    Name,
    Natural,
    Point,
    Positive,
    Slope,
)

Side = Literal["front", "right", "back", "left"]


class PlaceTable(Table):
    """``place``: where the house stands, for sunset."""

    latitude: float = Field(ge=-90, le=90, description="Degrees north.")
    longitude: float = Field(ge=-180, le=180, description="Degrees east.")
    timezone: Annotated[str, AfterValidator(time_zone)] = Field(
        description='Its zone: "America/Los_Angeles".'
    )


class HouseTable(Table):
    """``[house]``: its name and the unit of bare numbers."""

    name: Name
    unit: Literal["m", "cm", "mm", "ft", "in"] = Field(description="The unit of bare lengths.")
    place: PlaceTable | None = None
    front_faces: Angle = Field(
        180.0,
        description="Compass heading that the front faces, degrees; 180 is south.",
        validate_default=True,
    )


class OpeningTable(Table):
    """``[[mass.window]]`` and ``[[mass.door]]``: an opening in a wall, for the picture."""

    wall: Side = "front"
    at: Natural = Field(description="From the wall's left end, seen from outside, to its middle.")
    width: Positive
    height: Positive
    sill: Natural = Fraction(0)
    colour: str | None = Field(None, description="A CSS colour; doors only.")


class MassTable(Table):
    """``[[mass]]``: one block of the building; it makes corners, edges and faces."""

    name: Name
    roof: Literal["gable", "hip", "shed", "flat"] = Field("gable", description="Its roof's shape.")
    ridge: Literal["away", "across"] = Field(
        "away", description="Of a gable. away: the gable end faces front; across: the eave does."
    )
    high: Side = Field("back", description="The side that a shed roof rises to.")
    width: Positive = Field(description="Left to right, wall to wall.")
    depth: Positive = Field(description="Front to back, wall to wall.")
    eave: Positive = Field(description="Height of the roof's lower edge above the base.")
    slope: Slope | None = Field(
        None, description='Rise in run, "8/12", or an angle, "33.7 deg". Not for a flat roof.'
    )
    overhang: Natural = Field(Fraction(0), description="How far the roof stands out, level.")
    position: tuple[Length, Length] = Field(
        (Fraction(0), Fraction(0)), description="x, y of its front-left wall corner.", strict=False
    )
    heading: Angle = Field(0.0, description="Turn about that corner, counter-clockwise, degrees.")
    base: Length = Field(Fraction(0), description="Height of its floor above the ground.")
    walls: bool = Field(True, description="false: an open roof on four posts.")
    wall_colour: str = "#b8b09c"
    roof_colour: str = "#5a5350"
    trim_colour: str = "#ddd8cc"
    window: list[OpeningTable] = Field(default_factory=list, max_length=200)
    door: list[OpeningTable] = Field(default_factory=list, max_length=50)


class LegTable(Table):
    """One leg of ``[[edge]] legs``: a length along the tape, and where it goes."""

    length: Positive
    heading: Angle | None = Field(None, description="Compass heading, degrees; 90 is east.")
    left: Angle | None = Field(None, description="Turn left from the leg before, degrees.")
    right: Angle | None = Field(None, description="Turn right from the leg before, degrees.")
    slope: LegSlope = Field(
        0.0, description='Rise in run, "4/12", falling "-4/12", or an angle; "up" is for posts.'
    )


Kind = Literal["eave", "rake", "ridge", "hip", "valley", "fascia", "post", "rail line"]
Facing = Literal["front", "right", "back", "left", "up", "down"]
Remainder = Literal["both", "start", "end", "spread", "trim"]


class EdgeTable(Table):
    """``[[edge]]``: a line where pixels can run, or more about an edge that a mass makes."""

    name: Name
    kind: Kind | None = None
    points: list[Point] | None = Field(
        None, min_length=2, max_length=10_000, description="x, y, z of each."
    )
    start: str | Point | None = Field(None, description="Where legs start: a corner, or x, y, z.")
    legs: list[LegTable] | None = Field(None, min_length=1, max_length=1000)
    closed: bool = Field(False, description="The last leg should come back to the start.")
    between: tuple[str, str] | None = Field(
        None, description="Two edges whose roof planes meet: the valley between them.", strict=False
    )
    facing: Facing | Angle | None = Field(
        None, description='Where its pixels shine: "front", "down"…, or degrees; 0 is right.'
    )
    measured: Positive | None = Field(None, description="Its length on your tape.")
    hole_spacing: Positive | None = Field(None, description="Its own, if not the rail's.")
    first_hole: Natural | None = Field(None, description="Its own, if not the rail's.")
    remainder: Remainder | None = Field(None, description="Its own, if not the rail's.")
    clear_start: Natural | None = Field(None, description="Kept clear at its start.")
    clear_end: Natural | None = Field(None, description="Kept clear at its end.")
    flexible: bool = Field(False, description="Holes run on round its bends: a strip, not a pipe.")


class RailTable(Table):
    """``[rail]``: how pipe or channel is drilled."""

    length: Positive | None = Field(None, description="Stock length; 10 ft or 3 m if left out.")
    hole_spacing: Positive | None = Field(None, description="Distance between holes.")
    pixels: int | None = Field(None, ge=1, le=10_000, description="Or: holes in a stock rail.")
    first_hole: Natural | None = Field(
        None, description="From the rail's end; half the spacing if left out."
    )
    remainder: Remainder = Field(
        "both",
        description="Where an edge is no whole number of spacings: bare at both ends, at the start "
        "or at the end; spread the holes evenly; or trim the last rail to the edge's end.",
    )
    corner_clear: Natural = Field(Fraction(0), description="No rail so near the ends of an edge.")
    material: str | None = Field(None, description='What expands: "pvc pipe", "pvc conduit"…')
    coldest: Celsius | None = Field(None, description="The coldest the rail gets.")
    warmest: Celsius | None = Field(None, description="The warmest the air gets.")
    fitted_at: Celsius | None = Field(None, description="The temperature when it is hung.")
    in_sun: bool = Field(True, description="Adds 30 F to the warmest, as makers of conduit advise.")
    gap: Natural | None = Field(None, description="Gap at joints, instead of the computed one.")
    kerf: Natural = Field(Fraction(0), description="Width of the saw's cut.")


class GroupTable(Table):
    """``[group.NAME]``: pixels by what they lie on, by a region of space, or both."""

    of: list[str] = Field(
        default_factory=list, description="Edges, masses, kinds, patterns, pixels (front 10-20)."
    )
    low: Point | None = Field(None, description="The region's least x, y, z.")
    high: Point | None = Field(None, description="The region's greatest x, y, z.")


class DrillTable(Table):
    """``[drill]``: your machine, for the drilling program. Every figure is yours to give."""

    units: Literal["in", "mm"] = Field("mm", description="What the program speaks: G20 or G21.")
    travel: Positive = Field(description="How far it can move along the rail.")
    bit: Positive = Field(description="Diameter of the hole.")
    depth: Positive = Field(description="How deep below the rail's top it drills.")
    retract: Positive = Field(description="Height above the rail between holes.")
    feed: Positive = Field(description="Drilling feed, a length in a minute.")
    spindle: int | None = Field(None, ge=1, le=100_000, description="Turns a minute.")


class BuyingTable(Table):
    """``[buying]``: what things cost you and how many to have in the drawer."""

    currency: str = Field("", max_length=8)
    spare: float = Field(0.1, ge=0, le=1, description="Share of spare pixels and fuses.")
    prices: dict[str, Annotated[float, Field(ge=0, le=1e6)]] = Field(
        default_factory=dict,
        description='Of one: rail, pixel, fuse, a supply\'s name; of a metre or foot: "14 AWG"…',
    )


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
    group: dict[str, list[str] | GroupTable] = Field(default_factory=dict)
    drill: DrillTable | None = None
    buying: BuyingTable = Field(default_factory=lambda: BuyingTable.model_validate({}))
