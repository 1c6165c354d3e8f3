"""The show file's shape: what a person writes, checked before anything is calculated."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import (
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationInfo,
    model_validator,
)

from lumenmap.colour.palette import Hue, Space
from lumenmap.core.errors import InputError
from lumenmap.core.names import Title
from lumenmap.core.quantity import Quantity
from lumenmap.core.tables import Table
from lumenmap.core.units import share
from lumenmap.core.validation import shown
from lumenmap.motion.easing import Easing, easing
from lumenmap.motion.reading import Reading
from lumenmap.routes.table import RouteTable
from lumenmap.show.model import Blend


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


def _easing(value: Any) -> Easing:
    if not isinstance(value, str):
        raise InputError(f'is {shown(value)}; expected an easing such as "ease-in-out"')
    return easing(value)


Seconds = Annotated[
    Fraction,
    BeforeValidator(_seconds, json_schema_input_type=str | float),
    Quantity(
        "time", '"12 s", "250 ms", or "2 beats" with a tempo; a number without a unit is seconds'
    ),
    Field(description='A time: "12 s", "250 ms", "2 beats"; a bare number is seconds.'),
]
#: A fraction. The schema gives the range; the reader gives it in words.
Part = Annotated[
    float,
    BeforeValidator(_part, json_schema_input_type=Annotated[float, Field(ge=0, le=1)] | str),
    Quantity("share, 0 to 1", '0.3, or "30 %"'),
]
Metres = Annotated[
    float,
    BeforeValidator(_length, json_schema_input_type=str | float),
    Quantity("length", '"12 ft 6 in", "3.81 m"; a number without a unit is in that of the house'),
]
Eased = Annotated[
    Easing,
    PlainValidator(_easing, json_schema_input_type=str),
    Quantity("easing", "as in CSS Easing Functions: the names below"),
    Field(
        validate_default=True,
        description='As in CSS Easing Functions: "ease-in-out", "steps(4)", …',
    ),
]


class ShowTable(Table):
    """``[show]``: its house, frame rate and length."""

    name: Title = Field("", description="Its title; the file's name if left out.")
    house: str | None = Field(None, description="The house file, in the same folder.")
    unit: Literal["m", "cm", "mm", "ft", "in"] | None = Field(
        None, description="Unit of lengths and speeds without one; the house's if left out."
    )
    fps: float = Field(30.0, gt=0, le=240, description="Frames per second.")
    length: Seconds = Field(description="The length of the loop.")
    tempo: float | None = Field(
        None, ge=10, le=600, description="Beats per minute: times and speeds may be in beats."
    )
    cross: Seconds = Field(
        Fraction(0),
        description="How long the end cross-fades into the beginning, for a seamless loop.",
    )
    match_screen: bool = Field(
        False,
        description="Mix the house's own dies so that colours look as they do on a screen.",
    )
    seed: int = Field(1, ge=0, lt=2**32, description="Chooses among the random patterns.")


class PaletteTable(Table):
    """``[palette.NAME]``: colours in CSS Color 4 notation, and how to interpolate them."""

    stops: list[str | dict[str, Any]] = Field(
        min_length=1,
        max_length=256,
        description='Colours, or { colour = "#0b5d2a", at = 0.25 } to place them.',
    )
    space: Space = Field("oklab", description="Colour space to interpolate in.")
    hue: Hue = Field("shorter", description="Which way round the hue circle (oklch).")
    cyclic: bool = Field(True, description="The last colour leads back to the first.")
    steps: bool = Field(False, description="Hold each colour instead of blending to the next.")


class EnvelopeTable(Table):
    """``envelope``: a layer's brightness over the time since its cue's start."""

    at: list[Seconds] = Field(
        min_length=2, max_length=256, description="Times since the cue's start, rising from 0."
    )
    level: list[Part] = Field(
        min_length=2, max_length=256, description="The brightness at each of these times."
    )
    easing: Eased = Field("linear", validate_default=True)
    repeat: bool = Field(False, description="Start again after the last time.")

    @model_validator(mode="after")
    def _fits(self) -> EnvelopeTable:
        if len(self.at) != len(self.level):
            raise InputError(
                f"has {len(self.at)} times but {len(self.level)} levels; expected as many"
            )
        if self.at[0] != 0 or any(b <= a for a, b in zip(self.at, self.at[1:], strict=False)):
            raise InputError('expected rising times from "0 s"')
        return self


Span = Annotated[list[Metres], Field(min_length=2, max_length=2)]


class WithinTable(Table):
    """``within``: a box of the house; the layer lights only the pixels in it."""

    across: Span | None = Field(None, description="From and to, left to right.")
    away: Span | None = Field(None, description="From and to, away from the street.")
    up: Span | None = Field(None, description="From and to, up.")


class LayerTable(Table):
    """``[[cue.layer]]``: one effect; its own options are keys next to these."""

    model_config = ConfigDict(extra="allow", strict=True, frozen=True)

    effect: str = Field(description="The effect's name; lumenmap effects lists them.")
    palette: str = Field(
        "", description="A palette of this file or built in; the first built-in one if left out."
    )
    on: list[str] = Field(
        default_factory=list,
        description='Edges, masses, kinds, groups, routes or patterns ("main/*"); all pixels if '
        "left out.",
    )
    except_: list[str] = Field(
        default_factory=list,
        alias="except",
        description="Places as in on, which it leaves alone.",
    )
    blend: Blend = Field("normal", description="A W3C blend mode.")
    opacity: Part = Field(1.0, description="How much of it shows.")
    within: WithinTable | None = Field(None, description="Only the pixels in this box.")
    delay: Seconds = Field(Fraction(0), description="How far its time lags behind the show's.")
    pace: float = Field(
        1.0, ge=-100, le=100, description="How fast its time runs; backwards below 0."
    )
    envelope: EnvelopeTable | None = Field(None, description="Its brightness over the cue.")


class CueTable(Table):
    """``[[cue]]``: a stretch of time and its layers. Overlapping cues add their light."""

    name: Title = Field("", description="Shown on the timeline.")
    start: Seconds = Field(Fraction(0), description="When it starts.")
    length: Seconds | None = Field(None, description="How long; to the show's end if left out.")
    fade: Seconds = Field(Fraction(0), description="Fade at both ends.")
    fade_in: Seconds | None = Field(None, description="Fade at the start only.")
    fade_out: Seconds | None = Field(None, description="Fade at the end only.")
    easing: Eased = Field("linear", validate_default=True)
    layer: list[LayerTable] = Field(min_length=1, max_length=64)


class LimitTable(Table):
    """``[limit]``: how the show is dimmed to what the supplies and wires can carry."""

    mode: Literal["steady", "glide", "frame"] = Field(
        "glide",
        description="steady: one gain for the whole show; glide: a gain that falls and rises "
        "slowly, ahead of the bright moments; frame: each frame by itself.",
    )
    per: Literal["house", "branch"] = Field(
        "house", description="house: all pixels dim alike; branch: each branch by itself."
    )
    slew: float = Field(
        0.5,
        ge=0.01,
        le=100,
        description="How fast a gliding gain may change, in halvings per second.",
    )
    dither: bool = Field(
        False,
        description="Temporal dithering: alternate the two nearest codes, for smoother dim fades.",
    )


class ShowFile(Table):
    """A whole show file."""

    show: ShowTable
    limit: LimitTable = Field(default_factory=lambda: LimitTable.model_validate({}))
    palette: dict[Title, PaletteTable] = Field(default_factory=dict)
    group: dict[Title, list[str]] = Field(
        default_factory=dict,
        description="Places under a name of your own, for on; each is a list of what on takes.",
    )
    route: list[RouteTable] = Field(default_factory=list, max_length=200)
    cue: list[CueTable] = Field(min_length=1, max_length=1000)
