"""The show file's shape: what a person writes, checked before anything is computed."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ConfigDict, Field

from lumenmap.core.errors import InputError
from lumenmap.core.tables import Table
from lumenmap.core.units import duration

#: The unit of bare lengths and speeds in a show file, where `[show] unit` says nothing.
DEFAULT_UNIT = "m"


def _seconds(value: Any) -> Fraction:
    if isinstance(value, Fraction):
        return value
    got = duration(value)
    if got < 0:
        raise InputError(f'time is "{value}"; it can\'t be negative')
    return got


Seconds = Annotated[
    Fraction,
    BeforeValidator(_seconds, json_schema_input_type=str | float),
    Field(description='A time: "12 s", "1 min 30 s", "250 ms"; a bare number is seconds.'),
]


class ShowTable(Table):
    """``[show]``: the house it is composed on, its rate and its length."""

    name: str = Field("", description="Its title; the file's name if left out.")
    house: str | None = Field(None, description="The house file, in the same folder.")
    unit: Literal["m", "cm", "mm", "ft", "in"] = Field(
        "m", description="The unit of bare lengths and speeds in this file."
    )
    fps: float = Field(30.0, gt=0, le=240, description="Frames a second.")
    length: Seconds = Field(description="How long the loop is.")
    seed: int = Field(1, ge=0, lt=2**32, description="Chooses among the random patterns.")


class PaletteTable(Table):
    """``[palette.NAME]``: colours in CSS Color 4 notation, and how to go between them."""

    stops: list[str | dict[str, Any]] = Field(
        min_length=1,
        max_length=256,
        description='Colours, or { colour = "#0b5d2a", at = 0.25 } to place them.',
    )
    space: Literal["oklab", "oklch"] = Field("oklab", description="Where to interpolate.")
    hue: Literal["shorter", "longer", "increasing", "decreasing"] = Field(
        "shorter", description="Which way round the hues (oklch)."
    )
    cyclic: bool = Field(True, description="Whether the last colour leads back to the first.")
    steps: bool = Field(False, description="Hold each colour instead of blending to the next.")


class LayerTable(Table):
    """``[[cue.layer]]``: one effect; its own options stand beside these keys."""

    model_config = ConfigDict(extra="allow", strict=True, frozen=True)

    effect: str = Field(description="The effect's name: see lumenmap effects.")
    palette: str = Field("", description="A palette of this file or a built-in one.")
    on: list[str] = Field(
        default_factory=list, description='Edges, masses, kinds, groups or patterns ("main/*").'
    )
    blend: str = Field("normal", description="A W3C blend mode, or plus-lighter.")
    opacity: float = Field(1.0, ge=0, le=1, description="How much of it shows, 0 to 1.")


class CueTable(Table):
    """``[[cue]]``: a stretch of time and what plays in it. Overlapping cues add their light."""

    name: str = Field("", description="Shown on the time line.")
    start: Seconds = Field(Fraction(0), description="When it starts.")
    length: Seconds | None = Field(None, description="How long; to the show's end if left out.")
    fade: Seconds = Field(Fraction(0), description="Fade at both ends.")
    fade_in: Seconds | None = Field(None, description="Fade at the start only.")
    fade_out: Seconds | None = Field(None, description="Fade at the end only.")
    layer: list[LayerTable] = Field(min_length=1, max_length=64)


class ShowFile(Table):
    """A whole show file."""

    show: ShowTable
    palette: dict[str, PaletteTable] = Field(default_factory=dict)
    cue: list[CueTable] = Field(min_length=1, max_length=1000)
