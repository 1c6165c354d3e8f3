"""``[[mass]]`` as a person writes it: one block of the building, its windows and doors."""

from fractions import Fraction
from typing import Any

from pydantic import Field, model_validator

from lumenmap.core.errors import InputError
from lumenmap.core.toml.tables import Table
from lumenmap.house.masses.kinds import RidgeDirection, RoofShape, Side
from lumenmap.house.reading.fields import Angle, Length, Name, Natural, Positive, Slope


class OverhangTable(Table):
    """``overhang = { … }``: how far the roof reaches beyond the walls, by side."""

    eaves: Natural = Field(Fraction(0), description="Of every side with an eave.")
    rakes: Natural = Field(
        Fraction(0), description="Of every other side: gable ends, and a shed's sides and high end."
    )
    front: Natural | None = Field(None, description="Of this side, in place of eaves or rakes.")
    right: Natural | None = Field(None, description="Of this side, in place of eaves or rakes.")
    back: Natural | None = Field(None, description="Of this side, in place of eaves or rakes.")
    left: Natural | None = Field(None, description="Of this side, in place of eaves or rakes.")


class OpeningTable(Table):
    """``[[mass.window]]``, ``[[mass.door]]``: an opening in a wall, and an edge round it.

    The edge begins at the lower left, seen from outside, and runs up, over the top and down; that
    of a window goes on along the sill.
    """

    name: Name | None = Field(
        None,
        description='Second part of its edge\'s name: main/Mia; "window 1", "door 1"… if left out.',
    )
    wall: Side = Field("front", description="The wall it is in.")
    at: Natural = Field(
        description="From the wall's left end, seen from outside, to the middle of the opening."
    )
    width: Positive = Field(description="Its width.")
    height: Positive = Field(description="Its height.")
    sill: Natural = Field(Fraction(0), description="Height of its lower edge above the floor.")
    colour: str | None = Field(None, description="A CSS colour; doors only.")


class MassTable(Table):
    """``[[mass]]``: one block of the building; it makes corners, edges and faces."""

    name: Name = Field(description="First part of the names of its edges: main/eave-left.")
    roof: RoofShape = Field("gable", description="The roof's shape.")
    ridge: RidgeDirection = Field(
        "away",
        description="Which way a gable roof's ridge runs. away: the gable end faces the street; "
        "across: the eave does.",
    )
    hip_end: Side | None = Field(
        None,
        description="The end of a gable roof that is a hip while the other is a gable: left or "
        "right if the ridge runs across, front or back if it runs away.",
    )
    high: Side = Field("back", description="The side that a shed roof rises to.")
    leans_on: Name | None = Field(
        None,
        description="A mass that this one leans on. Its roof, a shed or gable, and the walls under "
        "it go on until they meet that mass, and its edges end there. A shed leans with its high "
        "side; a gable with the end nearer to that mass, or opposite its hip_end.",
    )
    width: Positive = Field(description="Left to right, wall to wall.")
    depth: Positive = Field(description="Front to back, wall to wall.")
    eave: Positive = Field(
        description="Height of the roof's lower edge above the base; of the lowest, where eaves "
        "have different overhangs."
    )
    slope: Slope | None = Field(
        None, description="Slope of the roof; needed for every roof but a flat one."
    )
    overhang: Natural | OverhangTable = Field(
        Fraction(0),
        description="How far the roof reaches beyond the walls, measured level. If that differs by "
        'side, a table: { eaves = "18 in", rakes = "8 in" }.',
    )
    position: tuple[Length, Length] = Field(
        (Fraction(0), Fraction(0)), description="x, y of its front-left wall corner.", strict=False
    )
    rotate: Angle = Field(
        0.0, description="Rotation about that corner, counter-clockwise as seen from above."
    )
    base: Length = Field(
        Fraction(0),
        description="Height of its floor above the ground. Pictures draw its walls or posts down "
        "to the ground, unless another mass is under it, or next to it and it hangs out by no "
        "more than 4 ft (1.2 m).",
    )
    walls: bool = Field(True, description="false: an open roof on four posts.")
    wall_colour: str = Field("#b8b09c", description="A CSS colour, for the picture.")
    roof_colour: str = Field("#5a5350", description="A CSS colour, for the picture.")
    trim_colour: str = Field("#ddd8cc", description="A CSS colour, for the picture.")
    window: list[OpeningTable] = Field([], max_length=200)
    door: list[OpeningTable] = Field([], max_length=50)

    @model_validator(mode="before")
    @classmethod
    def _renamed(cls, data: Any) -> Any:
        if isinstance(data, dict) and "heading" in data:
            raise InputError(
                'is called "rotate" now; a heading is what a compass shows', key="heading"
            )
        return data
