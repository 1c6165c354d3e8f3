"""The house file's shape: what a person writes, lengths read exactly in the file's own unit."""

from fractions import Fraction
from typing import Annotated

from pydantic import AfterValidator, Field

from lumenmap.core.geography import time_zone
from lumenmap.core.names import Title
from lumenmap.core.toml.tables import Table
from lumenmap.house.choices import DrillUnit, Facing, Remainder, Tape, Unit
from lumenmap.house.masses.kinds import EdgeKind
from lumenmap.house.reading.electric import (
    BusTable,
    EnergyTable,
    FeedTable,
    SupplyTable,
    TapTable,
    TrunkTable,
    WiringTable,
)
from lumenmap.house.reading.fields import Angle, Celsius, LegSlope, Name, Natural, Point, Positive
from lumenmap.house.reading.mass_table import MassTable
from lumenmap.house.reading.strings import LineTable, PixelTable, StringTable
from lumenmap.routes.table import RouteTable


class PlaceTable(Table):
    """``place``: where the house is, for the time of sunset."""

    latitude: float = Field(ge=-90, le=90, description="Degrees north.")
    longitude: float = Field(ge=-180, le=180, description="Degrees east.")
    timezone: Annotated[str, AfterValidator(time_zone)] = Field(
        description='Time zone by its IANA name: "America/Los_Angeles".'
    )


class HouseTable(Table):
    """``[house]``: its name, and the unit of numbers without one."""

    name: Name = Field(description="What the house is called on pictures and sheets.")
    unit: Unit = Field(description="The unit of every length that is written without one.")
    place: PlaceTable | None = None
    front_faces: Angle = Field(
        180.0,
        description="Compass heading that the front faces; 180 is south.",
        validate_default=True,
    )


class LegTable(Table):
    """One leg of ``[[edge]] legs``: a length along the tape, and where it goes."""

    length: Positive = Field(description="Its length along the tape.")
    heading: Angle | None = Field(None, description="Compass heading; 90 is east.")
    left: Angle | None = Field(None, description="Turn left from the leg before it.")
    right: Angle | None = Field(None, description="Turn right from the leg before it.")
    slope: LegSlope = Field(
        0.0, description='How it rises, or falls: "-4/12"; "up" or "down" for a post.'
    )


class EdgeTable(Table):
    """``[[edge]]``: a line where pixels can run, or more about an edge that a mass makes."""

    name: Name = Field(description="A name of your own, or that of an edge that a mass makes.")
    kind: EdgeKind | None = Field(None, description="What it is; a show can choose pixels by it.")
    points: list[Point] | None = Field(
        None, min_length=2, max_length=10_000, description="The line, point by point."
    )
    start: str | Point | None = Field(
        None, description="Where its legs start: the name of a corner, or a point."
    )
    legs: list[LegTable] | None = Field(None, min_length=1, max_length=1000)
    closed: bool = Field(False, description="Whether the last leg should come back to the start.")
    between: tuple[str, str] | None = Field(
        None, description="The valley where the roof planes of these two edges meet.", strict=False
    )
    facing: Facing | Angle | None = Field(
        None,
        description="The direction its pixels shine in; as an angle, 0 is right and 90 is back. "
        "If left out, each side of a closed line shines outwards, any other to the front.",
    )
    measured: Positive | None = Field(
        None, description="Its length on your tape, if that differs from the model."
    )
    hole_spacing: Positive | None = Field(None, description="In place of the [rail] value.")
    first_hole: Natural | None = Field(None, description="In place of the [rail] value.")
    remainder: Remainder | None = Field(None, description="In place of the [rail] value.")
    clear_start: Natural | None = Field(None, description="Length without rail at its start.")
    clear_end: Natural | None = Field(None, description="Length without rail at its end.")
    flexible: bool = Field(
        False, description="Holes continue round its bends, as in a strip or bent channel."
    )


class RailTable(Table):
    """``[rail]``: how pipe or channel is drilled."""

    length: Positive | None = Field(
        None, description="Stock length; 10 ft, or 3 m in a metric house, if left out."
    )
    hole_spacing: Positive | None = Field(
        None, description="Distance from hole to hole. Give this or pixels."
    )
    pixels: int | None = Field(
        None, ge=1, le=10_000, description="Number of holes in a stock rail."
    )
    first_hole: Natural | None = Field(
        None, description="From the rail's end to its first hole; half the spacing if left out."
    )
    remainder: Remainder = Field(
        "both",
        description="What to do where an edge isn't a whole number of spacings: leave both ends, "
        "the start or the end bare; spread the holes evenly; or trim the last rail to the edge.",
    )
    corner_clear: Natural = Field(
        Fraction(0), description="Keep rails this far from the ends of an edge."
    )
    material: str | None = Field(
        None, description='Decides how much it expands: "pvc pipe", "pvc conduit"…'
    )
    coldest: Celsius | None = Field(None, description="The coldest that the rail gets.")
    warmest: Celsius | None = Field(None, description="The warmest that the air gets.")
    fitted_at: Celsius | None = Field(None, description="The temperature on the day you hang it.")
    in_sun: bool = Field(True, description="Add 30 F to the warmest, as makers of conduit advise.")
    gap: Natural | None = Field(None, description="Gap at joints, in place of the computed one.")
    kerf: Natural = Field(Fraction(0), description="Width of the saw's cut.")


class GroupTable(Table):
    """``[group.NAME]``: pixels by what they lie on, by a region of space, or both."""

    of: list[str] = Field(
        [],
        description='Edges, masses, kinds of edge, patterns ("main/*") or pixels ("front 10-20").',
    )
    low: Point | None = Field(None, description="The region's lowest x, y and z.")
    high: Point | None = Field(None, description="The region's highest x, y and z.")


class DrillTable(Table):
    """``[drill]``: your tape and bit; and your machine, if one drills by program.

    Give travel, depth, retract and feed together with bit for a machine's program, or none of them.
    """

    tape: Tape | None = Field(
        None,
        description="The marks on your tape, which the drill sheets count in; 1/16 in, or 1 mm in "
        "a metric house, if left out.",
    )
    bit: Positive | None = Field(None, description="Diameter of the hole.")
    units: DrillUnit = Field("mm", description="Unit of the drilling program: G20 or G21.")
    travel: Positive | None = Field(
        None, description="How far the machine can move along the rail."
    )
    depth: Positive | None = Field(None, description="How far below the top of the rail it drills.")
    retract: Positive | None = Field(
        None, description="Height of the bit above the rail between holes."
    )
    feed: Positive | None = Field(None, description="Drilling feed: length a minute.")
    spindle: int | None = Field(
        None,
        ge=1,
        le=100_000,
        description="Spindle speed, in turns a minute; left to you if not given.",
    )


class BuyingTable(Table):
    """``[buying]``: what things cost you and how many to have in the drawer."""

    currency: Title = Field(
        "", max_length=8, description="Your currency's sign, written before each price."
    )
    spare: float = Field(0.1, ge=0, le=1, description="Share of pixels and fuses to buy as spares.")
    prices: dict[Title, Annotated[float, Field(ge=0, le=1e6)]] = Field(
        {},
        description="Price of one rail, clip, coupling, cap, string, pixel, fuse, holder, plug, "
        '"plug 2", blank, splice, sealant, controller, "level shifter", resistor, "line driver", '
        'box, gland or supply (by its name); of a metre or foot of jumper, "data lead" or wire '
        '("14 AWG").',
    )


class HouseFile(Table):
    """A whole house file."""

    house: HouseTable
    mass: list[MassTable] = Field([], max_length=200)
    edge: list[EdgeTable] = Field([], max_length=2000)
    rail: RailTable
    pixel: PixelTable
    string: StringTable = Field(default_factory=lambda: StringTable.model_validate({}))
    line: list[LineTable] = Field(min_length=1, max_length=200)
    supply: list[SupplyTable] = Field([], max_length=50)
    feed: list[FeedTable] = Field([], max_length=500)
    bus: list[BusTable] = Field([], max_length=200)
    trunk: list[TrunkTable] = Field([], max_length=200)
    tap: list[TapTable] = Field([], max_length=1000)
    wiring: WiringTable = Field(default_factory=lambda: WiringTable.model_validate({}))
    energy: EnergyTable = Field(default_factory=lambda: EnergyTable.model_validate({}))
    group: dict[Title, list[str] | GroupTable] = Field(
        {}, description="Pixels under a name of your own."
    )
    route: list[RouteTable] = Field([], max_length=200)
    drill: DrillTable | None = None
    buying: BuyingTable = Field(default_factory=lambda: BuyingTable.model_validate({}))
