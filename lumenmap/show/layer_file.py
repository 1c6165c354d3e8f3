"""The tables of a layer in a show file."""

from fractions import Fraction
from typing import Annotated, Literal

from pydantic import ConfigDict, Field, model_validator

from lumenmap.core.errors import InputError
from lumenmap.core.names import Title
from lumenmap.core.toml.tables import Table
from lumenmap.show.model import Blend, Clock, Lit, Order, Then
from lumenmap.show.quantities import Colours, Envelope, Every, Level, Seconds, Span, WayName


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
    fade: Seconds = Field(Fraction(0), description="How long a turn takes to change into the next.")
    rounds: int = Field(
        0, ge=0, le=100_000, description="How often each place has its turn; 0 without end."
    )
    then: Then = Field("held", description="After the last round: dark, or held as it is.")

    @model_validator(mode="after")
    def _fits(self) -> "TurnsTable":
        if self.rounds and self.every is None:
            raise InputError("rounds need `every`, the time of a turn")
        if self.first is not None and self.lit == "one":
            raise InputError('`first` goes with lit = "one more" or "one fewer"')
        return self


class WithinTable(Table):
    """``within``: a box of the house; the layer lights only the pixels in it."""

    across: Span | None = Field(None, description="From and to, left to right.")
    away: Span | None = Field(None, description="From and to, away from the street.")
    up: Span | None = Field(None, description="From and to, up.")


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
        [],
        description='Edges, masses, kinds, groups, routes or patterns ("main/*"); all pixels if '
        "left out.",
    )
    except_: list[str] = Field(
        [],
        alias="except",
        description="Places as in on, which it leaves alone.",
    )
    blend: Blend = Field(
        "normal", description="How it mixes with the layers below: a W3C blend mode."
    )
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


#: The keys of any layer, beside its effect's options.
LAYER_KEYS = tuple(field.alias or name for name, field in LayerTable.model_fields.items())
