"""The show file's shape: what a person writes, checked before anything is computed."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    model_validator,
)

from lumenmap.core.errors import InputError
from lumenmap.core.tables import Table
from lumenmap.core.units import share
from lumenmap.motion.easing import easing
from lumenmap.motion.reading import Reading

#: The unit of bare lengths and speeds in a show file, where `[show] unit` says nothing.
DEFAULT_UNIT = "m"


def _seconds(value: Any, info: ValidationInfo) -> Fraction:
    if isinstance(value, Fraction):
        return value
    got = reading_of(info).exact_duration(value)
    if got < 0:
        raise InputError(f'time is "{value}"; it can\'t be negative')
    return got


def reading_of(info: ValidationInfo) -> Reading:
    """Return how this file's quantities are read."""
    found = (info.context or {}).get("reading", Reading())
    assert isinstance(found, Reading)
    return found


def _length(value: Any, info: ValidationInfo) -> float:
    return reading_of(info).length(value)


def _part(value: Any) -> float:
    return share(value, what="it")


def _easing(value: str) -> str:
    easing(value)
    return value


Seconds = Annotated[
    Fraction,
    BeforeValidator(_seconds, json_schema_input_type=str | float),
    Field(description='A time: "12 s", "250 ms", "2 beats"; a bare number is seconds.'),
]
#: Part of the whole. The schema says the range, the reader says it in words.
Part = Annotated[
    float,
    BeforeValidator(_part, json_schema_input_type=Annotated[float, Field(ge=0, le=1)] | str),
]
Metres = Annotated[float, BeforeValidator(_length, json_schema_input_type=str | float)]
Eased = Annotated[
    str,
    AfterValidator(_easing),
    Field(description='As in CSS Easing Functions: "ease-in-out", "steps(4)", …'),
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
    tempo: float | None = Field(
        None, ge=10, le=600, description="Beats a minute: times and speeds may be in beats."
    )
    cross: Seconds = Field(
        Fraction(0), description="How long the end crosses into the beginning, to hide the seam."
    )
    match_screen: bool = Field(
        False,
        description="Mix the house's own dies so that colours look as on a screen, white as white.",
    )
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


class EnvelopeTable(Table):
    """``envelope``: a layer's brightness over the time since its cue's start."""

    at: list[Seconds] = Field(min_length=2, max_length=256, description="Rising times.")
    level: list[Part] = Field(
        min_length=2, max_length=256, description="The brightness at each, 0 to 1."
    )
    easing: Eased = "linear"
    repeat: bool = Field(False, description="Begin again after the last time.")

    @model_validator(mode="after")
    def _fits(self) -> EnvelopeTable:
        if len(self.at) != len(self.level):
            raise InputError(f"has {len(self.at)} times and {len(self.level)} levels; one for one")
        if self.at[0] != 0 or any(b <= a for a, b in zip(self.at, self.at[1:], strict=False)):
            raise InputError('its times must rise from "0 s"')
        return self


Span = Annotated[list[Metres], Field(min_length=2, max_length=2)]


class WithinTable(Table):
    """``within``: a box of the house, in its own axes."""

    across: Span | None = Field(None, description="From and to, left to right.")
    away: Span | None = Field(None, description="From and to, away from the street.")
    up: Span | None = Field(None, description="From and to, up.")


class LayerTable(Table):
    """``[[cue.layer]]``: one effect; its own options stand beside these keys."""

    model_config = ConfigDict(extra="allow", strict=True, frozen=True)

    effect: str = Field(description="The effect's name: see lumenmap effects.")
    palette: str = Field("", description="A palette of this file or a built-in one.")
    on: list[str] = Field(
        default_factory=list, description='Edges, masses, kinds, groups or patterns ("main/*").'
    )
    blend: str = Field("normal", description="A W3C blend mode, or plus-lighter.")
    opacity: Part = Field(1.0, description='How much of it shows, 0 to 1, or as "80 %".')
    within: WithinTable | None = Field(None, description="Only the pixels in this box.")
    delay: Seconds = Field(Fraction(0), description="How much later than the show it runs.")
    pace: float = Field(
        1.0, ge=-100, le=100, description="How fast its time runs; below 0 it runs backwards."
    )
    envelope: EnvelopeTable | None = Field(None, description="Its brightness over the cue.")


class CueTable(Table):
    """``[[cue]]``: a stretch of time and what plays in it. Overlapping cues add their light."""

    name: str = Field("", description="Shown on the time line.")
    start: Seconds = Field(Fraction(0), description="When it starts.")
    length: Seconds | None = Field(None, description="How long; to the show's end if left out.")
    fade: Seconds = Field(Fraction(0), description="Fade at both ends.")
    fade_in: Seconds | None = Field(None, description="Fade at the start only.")
    fade_out: Seconds | None = Field(None, description="Fade at the end only.")
    easing: Eased = "linear"
    layer: list[LayerTable] = Field(min_length=1, max_length=64)


class LimitTable(Table):
    """``[limit]``: how the show is held inside what the house's supplies and wires give."""

    mode: Literal["steady", "glide", "frame"] = Field(
        "glide",
        description="steady: one gain for the whole show; glide: a gain that falls and rises "
        "slowly, ahead of the bright moments; frame: each frame by itself.",
    )
    per: Literal["house", "branch"] = Field(
        "house", description="house: all pixels dim alike; branch: each branch by itself."
    )
    slew: float = Field(
        0.5, ge=0.01, le=100, description="Halvings a second that a gliding gain may change by."
    )
    dither: bool = Field(
        False, description="Show codes in turn for what lies between them: smoother dim fades."
    )


class ShowFile(Table):
    """A whole show file."""

    show: ShowTable
    limit: LimitTable = Field(default_factory=lambda: LimitTable.model_validate({}))
    palette: dict[str, PaletteTable] = Field(default_factory=dict)
    cue: list[CueTable] = Field(min_length=1, max_length=1000)
