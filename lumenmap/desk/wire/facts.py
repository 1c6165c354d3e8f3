"""What the page is told about a house, as pydantic models: the nouns of `lumenmap.desk.wire`.

Lengths and speeds are numbers in the house's own unit, next to the word that a file takes for it,
so the page never converts. Positions in the picture are fractions of its width and height, from
its top left.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

#: Keys of a table and numbers of list items, from 0, from the top of a file to one value.
Path = list[str | int]
#: What a paired device may do: choose, dim and darken the evening; or everything.
Rights = Literal["evening", "compose"]


class Fact(BaseModel):
    """Base of everything that is told: unknown keys are errors, on both sides."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, json_schema_serialization_defaults_required=True
    )


class Place(Fact):
    """A name that a layer can lie on: an edge, a mass, a kind of edge, a group, a line, a route."""

    name: str
    what: Literal["edge", "mass", "kind", "group", "line", "route"]
    pixels: int = Field(description="How many pixels it has.")
    rows: list[tuple[int, int]] = Field(description="Its pixels: (first, count) of each run.")


class Edge(Fact):
    """An edge with pixels, to be chosen on the picture."""

    name: str
    kind: str
    mass: str | None
    length: str = Field(description="In the house's unit, for people: 12 ft 6 in.")
    pixels: int
    outline: list[tuple[float, float]] = Field(
        description="Its points in the picture, as fractions of width and height."
    )


class Line(Fact):
    """The pixels of one data line, and the order of its channels on the wire."""

    name: str
    first: int
    count: int
    order: str


class Budget(Fact):
    """What a supply, a branch (behind one fuse) or a wire may carry."""

    name: str
    kind: Literal["supply", "branch", "wire"]
    amps: float | None = Field(description="Null if the house has no supply yet: no limit.")


class House(Fact):
    """The house as the page needs it; the picture itself comes from ``GET /picture``."""

    name: str
    file: str
    unit: str
    pixels: int
    channels: int
    picture: str = Field(description="Address of the picture's data; another when it changes.")
    edges: list[Edge]
    places: list[Place]
    lines: list[Line]
    budgets: list[Budget] = Field(description="Supplies first, then branches, then wires.")
    supplies: int = Field(description="How many of the budgets are supplies.")
    screen: list[float] = Field(
        description="3 x 3, by rows: from the light of the dies to linear sRGB."
    )
    matching: list[float] = Field(
        description="3 x 3, by rows: from linear sRGB to the light of the dies; a colour with a "
        "channel below 0 or above 1 is one that these LEDs can't show."
    )
    notes: list[str]
    dangers: list[str] = Field(description="Of its wiring: with any of them, nothing is lit.")


class Option(Fact):
    """One option of an effect, as a control: its kind, unit and range, from the signature."""

    name: str
    kind: str = Field(description="length, speed, duration, rate, share, angle, count, seed, …")
    help: str
    expected: str = Field(description="The range in words: 0.5 ft/s to 90 ft/s.")
    unit: str = Field(description="Written after the number in a file: ft/s; empty if none.")
    low: float | None = Field(description="In that unit; null where there is no end.")
    high: float | None
    default: float | None = Field(description="In that unit; null for words and where unset.")
    default_text: str = Field(description="As a file has it, or what happens if it is left out.")
    whole: bool = Field(description="Only whole numbers.")
    choices: list[str] = Field(description="The words it may have, if it is a word.")
    varies: bool = Field(description="Whether it may be a ramp, which changes over time.")


class Effect(Fact):
    """An effect: its name, what it looks like, its options."""

    name: str
    summary: str
    source: str
    options: list[Option]


class Stop(Fact):
    """A colour of a palette: CSS text, its place 0..1, linear sRGB."""

    colour: str
    at: float
    rgb: tuple[float, float, float]


class Palette(Fact):
    """A palette, of the package or of a show file."""

    name: str
    occasion: str
    when: str
    own: bool = Field(description="Whether it is the show's own.")
    stops: list[Stop]
    space: str
    hue: str
    cyclic: bool
    steps: bool
    strip: list[str] = Field(description="32 colours along it, #rrggbb, for a small picture.")


class PaletteCheck(Fact):
    """What these LEDs make of a palette, in numbers and sentences."""

    amps: float = Field(description="A per pixel, averaged over the palette.")
    stop_amps: list[float]
    findings: list[str] = Field(description="Colours that can't be shown or are confused.")


class Ramp(Fact):
    """A value that changes over time."""

    at: list[float] = Field(description="s since the cue's start.")
    to: list[float] = Field(description="The value at each of these, in the option's unit.")
    course: list[float] = Field(description="Values at even steps from the first to the last.")


class Value(Fact):
    """An option, or a key of a table, as it is, whether the file gives it or not."""

    name: str
    number: float | None = Field(
        description="In the option's unit; null for words, and if it changes over time."
    )
    text: str
    ramp: Ramp | None


class Layer(Fact):
    """One layer, resolved."""

    effect: str
    palette: str
    on: list[str]
    without: list[str] = Field(description="Places that it leaves alone.")
    pixels: int = Field(description="How many pixels it lights.")
    blend: str
    values: list[Value] = Field(description="Of the effect's options.")
    keys: list[Value] = Field(description="Of the keys that every layer has.")
    turns: list[Value] = Field(description="How its places take turns; empty if they don't.")


class Cue(Fact):
    """One cue, resolved; its place in the list is that in the file."""

    name: str
    start: float = Field(description="s")
    length: float = Field(description="s")
    fade_in: float = Field(description="s")
    fade_out: float = Field(description="s")
    layers: list[Layer]


class ShowRow(Fact):
    """A show of the folder, to choose from."""

    file: str
    title: str
    seconds: float | None = Field(description="Null if it can't be read.")
    problem: str
    colours: list[str] = Field(default=[], description="A few of it, #rrggbb.")


class Problem(Fact):
    """A file that can't be used as it stands; the last good one stays."""

    file: str
    sentence: str
    line: int | None
    excerpt: str
    mend: bool = Field(description="Whether it goes once the file is there without its mistake.")


class Light(Fact):
    """Whether the house shows what is under the hand."""

    state: Literal["off", "on", "waiting", "impossible"]
    by: str = Field(description="The address of the browser that turned it on.")
    sentence: str


class Controller(Fact):
    """A controller that answered."""

    address: str
    name: str
    to: str = Field(description="What --to takes for it: artnet:192.168.1.40.")


class Flash(Fact):
    """A finding of the flash check."""

    start: float = Field(description="s")
    stop: float = Field(description="s")
    sentence: str


class Hidden(Fact):
    """A layer that nobody can see."""

    path: Path
    sentence: str
