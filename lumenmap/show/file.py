"""The show file's shape: what a person writes, checked before anything is calculated."""

from fractions import Fraction
from typing import Any, Literal

from pydantic import ConfigDict, Field, model_validator

from lumenmap.colour.palette import Hue, Space
from lumenmap.core.errors import InputError
from lumenmap.core.names import Sentence, Title
from lumenmap.core.toml.tables import Table
from lumenmap.routes.table import RouteTable
from lumenmap.show.layer_file import LayerTable
from lumenmap.show.quantities import Eased, Seconds


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
    def _has_length(self) -> "ShowTable":
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


class GroupTable(Table):
    """``[group]``: places under a name of your own, as a list, or as this table.

    ``front = ["main/rake-*", "porch"]``
    """

    of: list[str] = Field([], description="Places as in on; all pixels if left out.")
    except_: list[str] = Field([], alias="except", description="Places that don't belong to it.")


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
        {},
        description="Numbers by name, for {name} in any text of the show; `--set name=3` and "
        "almanacs give others.",
    )
    defaults: DefaultsTable = Field(default_factory=lambda: DefaultsTable.model_validate({}))
    limit: LimitTable = Field(default_factory=lambda: LimitTable.model_validate({}))
    palette: dict[Title, PaletteTable] = Field({})
    group: dict[Title, list[str] | GroupTable] = Field(
        {}, description="Places under a name of your own."
    )
    route: list[RouteTable] = Field([], max_length=200)
    cue: list[CueTable] = Field(min_length=1, max_length=1000)
