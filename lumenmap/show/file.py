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
from lumenmap.core.names import Sentence, Title
from lumenmap.core.quantity import Quantity
from lumenmap.core.tables import Table
from lumenmap.core.units import share
from lumenmap.core.validation import shown
from lumenmap.motion.easing import Easing, easing
from lumenmap.motion.options import Duration, Share, Way
from lumenmap.motion.ramp import Ramp
from lumenmap.motion.ramp_reading import RampTable, read_ramp
from lumenmap.motion.reading import Reading
from lumenmap.routes.route import Route
from lumenmap.routes.table import RouteTable
from lumenmap.show.model import Blend, Clock, Lit, Order, Then


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


def _level(value: Any, info: ValidationInfo) -> float | Ramp:
    if isinstance(value, dict):
        return read_ramp(Share(), value, reading_of(info))
    return share(value, what="it")


def _envelope(value: Any, info: ValidationInfo) -> Ramp:
    if not isinstance(value, dict):
        raise InputError(f'is {shown(value)}; expected {{ at = ["0 s", "1 s"], to = [0, 1] }}')
    if "level" in value and "to" not in value:  # its name until 0.1.0
        value = {("to" if key == "level" else key): v for key, v in value.items()}
    return read_ramp(Share(), value, reading_of(info))


def _every(value: Any, info: ValidationInfo) -> float | Ramp:
    kind = Duration(low=0.02, high=86_400)
    if isinstance(value, dict):
        return read_ramp(kind, value, reading_of(info))
    return float(kind.read(value, reading_of(info)))


def _way(value: Any, info: ValidationInfo) -> str | Route:
    found: str | Route = Way().read(value, reading_of(info))
    return found


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
Metres = Annotated[
    float,
    BeforeValidator(_length, json_schema_input_type=str | float),
    Quantity("length", '"12 ft 6 in", "3.81 m"; a number without a unit is in that of the house'),
]
_RAMP = '{ from = 0, to = 1, over = "10 s" }, or { at = ["0 s", "10 s"], to = [0, 1] }'
#: A share that may be a ramp.
Level = Annotated[
    float | Ramp,
    PlainValidator(
        _level, json_schema_input_type=Annotated[float, Field(ge=0, le=1)] | str | RampTable
    ),
    Quantity("share, 0 to 1, or a ramp", f'0.3, "30 %", or a ramp: {_RAMP}'),
]
Envelope = Annotated[
    Ramp,
    PlainValidator(_envelope, json_schema_input_type=RampTable),
    Quantity("ramp", _RAMP),
]
Every = Annotated[
    float | Ramp,
    PlainValidator(_every, json_schema_input_type=float | str | RampTable),
    Quantity(
        "time, or a ramp", '"2 beats", or a ramp: { from = "2 s", to = "0.5 s", over = "30 s" }'
    ),
]
WayName = Annotated[
    str | Route,
    PlainValidator(_way, json_schema_input_type=str | list[str]),
    Quantity("way", "a way of the effects: see lumenmap help effects"),
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
    length: Seconds | None = Field(
        None, description="The length of the loop; only a show with a sound may leave it out."
    )
    tempo: float | None = Field(
        None,
        ge=10,
        le=600,
        description="Beats per minute: times and speeds may be in beats. With a sound, about how "
        "fast it is, within 6 %.",
    )
    bar: int = Field(4, ge=1, le=16, description="Beats in a bar.")
    sound: str | None = Field(
        None,
        description="The sound file it plays to, in the same folder: WAV, FLAC, Ogg or MP3. "
        "Times in beats follow the beats that are played.",
    )
    cross: Seconds = Field(
        Fraction(0),
        description="How long the end cross-fades into the beginning, for a seamless loop.",
    )
    match_screen: bool = Field(
        True,
        description="Mix the house's own dies so that colours look as they do on a screen, and "
        "white is white. With false, colours are the dies' own: red is the red die alone.",
    )
    seed: int = Field(1, ge=0, lt=2**32, description="Chooses among the random patterns.")
    flashing: Sentence = Field(
        "",
        description="Why it may flash more than three times a second; without such a sentence, "
        "stream and run refuse it.",
    )

    @model_validator(mode="after")
    def _has_length(self) -> ShowTable:
        if self.length is None and self.sound is None:
            raise InputError("is missing", key="length")
        return self


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


class TurnsTable(Table):
    """``turns``: the places that the layer lies on take turns."""

    every: Every | None = Field(
        None, description="From one turn to the next; no turn ends if left out."
    )
    lit: Lit = Field(
        "one",
        description="one: each in its turn; one more: each stays lit; one fewer: all are lit at "
        "first, and each goes out.",
    )
    first: int | None = Field(
        None, ge=0, le=1000, description="How many are lit at first, for one more or one fewer."
    )
    order: Order = Field(
        "in order", description="by lot: drawn anew in each round; to and fro: and back again."
    )
    parts: Annotated[int, Field(ge=2, le=1000)] | Literal["edges"] | None = Field(
        None,
        description="So many equal parts of a way take turns, or each of the layer's edges in the "
        "order of the wire; the places in `on` if left out.",
    )
    way: WayName = Field("line", description="The way that has `parts`.")
    gap: float = Field(
        0.0, ge=0, le=0.9, description="How much of each part stays dark, as a share of it."
    )
    fade: Seconds = Field(Fraction(0), description="In which time a turn changes to the next.")
    rounds: int = Field(
        0, ge=0, le=100_000, description="How often each place has its turn; 0 without end."
    )
    then: Then = Field("held", description="After the last round: dark, or held as it is.")

    @model_validator(mode="after")
    def _fits(self) -> TurnsTable:
        if self.rounds and self.every is None:
            raise InputError("rounds need `every`, the time of a turn")
        if self.first is not None and self.lit == "one":
            raise InputError('`first` goes with lit = "one more" or "one fewer"')
        return self


Span = Annotated[list[Metres], Field(min_length=2, max_length=2)]


class WithinTable(Table):
    """``within``: a box of the house; the layer lights only the pixels in it."""

    across: Span | None = Field(None, description="From and to, left to right.")
    away: Span | None = Field(None, description="From and to, away from the street.")
    up: Span | None = Field(None, description="From and to, up.")


def _colours(value: Any) -> str | list[str]:
    if isinstance(value, str):
        return value
    if isinstance(value, list) and value and all(isinstance(v, str) for v in value):
        return value
    raise InputError(
        f"is {shown(value)}; expected a palette's name, a colour, or a list of colours"
    )


Colours = Annotated[
    str | list[str],
    PlainValidator(_colours, json_schema_input_type=str | list[str]),
    Quantity("palette", 'a name, a colour such as "gold", or a list such as ["gold", "white"]'),
]


class LayerTable(Table):
    """``[[cue.layer]]``: one effect; its own options are keys next to these."""

    model_config = ConfigDict(extra="allow", strict=True, frozen=True)

    effect: str = Field(description="The effect's name; lumenmap effects lists them.")
    name: Title = Field(
        "", description="Its name: a layer that has one keeps its random pattern whatever changes."
    )
    palette: Colours = Field(
        "",
        description="A palette of this file, of a file of yours, or built in; or a colour, or a "
        "list of colours. The first built-in palette if left out.",
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
    opacity: Level = Field(1.0, description="How much of it shows.")
    palette_at: Level | None = Field(
        None,
        description="The whole layer in one colour: its place in the palette. A ramp travels "
        "through the palette.",
    )
    within: WithinTable | None = Field(None, description="Only the pixels in this box.")
    clock: Clock = Field(
        "cue",
        description="What its time counts from: its cue's start, the show's, or its turn's.",
    )
    delay: Seconds = Field(Fraction(0), description="How far its time lags behind that clock.")
    pace: float = Field(
        1.0, ge=-100, le=100, description="How fast its time runs; backwards below 0."
    )
    envelope: Envelope | None = Field(None, description="Its brightness over the cue.")
    over: Seconds | None = Field(
        None, description="Time of one passage or period, instead of the effect's speed or period."
    )
    times: int = Field(
        0, ge=0, le=100_000, description="With `over`: how many passages; 0 without end."
    )
    then: Then = Field("dark", description="After the last passage: dark, or held as it is.")
    turns: TurnsTable | None = Field(None, description="Its places take turns.")


class GroupTable(Table):
    """``[group]``: places under a name of your own, as a list, or as this table.

    ``front = ["main/rake-*", "porch"]``
    """

    of: list[str] = Field(
        default_factory=list, description="Places as in on; all pixels if left out."
    )
    except_: list[str] = Field(
        default_factory=list, alias="except", description="Places that don't belong to it."
    )


class CueTable(Table):
    """``[[cue]]``: a stretch of time and its layers. Overlapping cues add their light."""

    name: Title = Field("", description="Shown on the timeline.")
    start: Seconds = Field(
        Fraction(0), description='When it starts: a time, or "bar 3", "beat 17", "bar 3 beat 2".'
    )
    length: Seconds | None = Field(None, description="How long; to the show's end if left out.")
    fade: Seconds = Field(Fraction(0), description="Fade at both ends.")
    fade_in: Seconds | None = Field(None, description="Fade at the start only.")
    fade_out: Seconds | None = Field(None, description="Fade at the end only.")
    easing: Eased = Field("linear", validate_default=True)
    even: bool = Field(
        False,
        description="Fades in steps that look even, for fades from dark and to dark; two cues "
        "that cross get darker in the middle.",
    )
    layer: list[LayerTable] = Field(min_length=1, max_length=64)


class CueDefaults(Table):
    """``[defaults.cue]``: for every cue that doesn't say otherwise."""

    fade: Seconds | None = Field(None, description="Fade at both ends.")
    fade_in: Seconds | None = Field(None, description="Fade at the start only.")
    fade_out: Seconds | None = Field(None, description="Fade at the end only.")
    easing: str | None = Field(None, description="The easing of the fades.")
    even: bool | None = Field(None, description="Fades in steps that look even.")


class DefaultsTable(Table):
    """``[defaults]``: keys for every layer that doesn't say otherwise, options of effects too."""

    model_config = ConfigDict(extra="allow", strict=True, frozen=True)

    cue: CueDefaults | None = Field(None, description="For every cue.")


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
        True,
        description="In dim light, use the two nearest codes by turns, over neighbouring pixels "
        "and, from 50 frames/s on, over frames, for smoother fades and truer colours.",
    )
    between_packets: bool = Field(
        False,
        description="Keep supplies and branches within budget between two packets too, when data "
        "lines show neighbouring frames for a moment. Fast shows get darker.",
    )


class ShowFile(Table):
    """A whole show file."""

    show: ShowTable
    values: dict[Title, float] = Field(
        default_factory=dict,
        description="Numbers by name, for {name} in any text of the show; `--set name=3` and "
        "almanacs give others.",
    )
    defaults: DefaultsTable = Field(default_factory=lambda: DefaultsTable.model_validate({}))
    limit: LimitTable = Field(default_factory=lambda: LimitTable.model_validate({}))
    palette: dict[Title, PaletteTable] = Field(default_factory=dict)
    group: dict[Title, list[str] | GroupTable] = Field(
        default_factory=dict, description="Places under a name of your own."
    )
    route: list[RouteTable] = Field(default_factory=list, max_length=200)
    cue: list[CueTable] = Field(min_length=1, max_length=1000)
