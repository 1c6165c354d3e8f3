"""The evenings to come: what a browser asks of them, and what it is told."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from lumenmap.desk.wire.evening_facts import Piece
from lumenmap.desk.wire.facts import Fact
from lumenmap.desk.wire.message import FileName, Id, Label, Message

#: The most evenings that a page looks at; and how far ahead one may be changed (days).
MOST_DAYS, FARTHEST = 70, 400

Time = Annotated[str, Field(min_length=1, max_length=40)]


class Wish(Message):
    """What somebody wants of the evenings from a date to another; null is as it was planned."""

    first: date
    last: date
    what: Literal["show", "brightness", "dark", "planned"] = Field(
        description="Planned: nothing of what was chosen for them stays, the almanac's rules hold."
    )
    file: FileName | None = Field(None, description="The show, if that is what is wanted.")
    level: Annotated[float, Field(gt=0, le=1)] | None = Field(
        None, description="0..1 of the show's own brightness."
    )
    start: Time | None = Field(None, description="sunset, 17:30; of a show.")
    stop: Time | None = Field(None, description="22:30, sunrise; of a show.")
    quiet: bool | None = Field(None, description="Whether it plays on through the quiet hours.")
    name: Label = Field("", description="Why, in a word: Birthday.")


class LookDays(Message):
    """Be told of evenings from now on, whenever they change; null is tonight and those after."""

    type: Literal["look_days"] = "look_days"
    first: date | None = None
    count: int = Field(ge=1, le=MOST_DAYS)


class AskDays(Message):
    """Ask what a wish would do, without doing it."""

    type: Literal["ask_days"] = "ask_days"
    id: Id
    wish: Wish


class SetDays(Message):
    """Do it; refused if it would do something else by now than what the person read."""

    type: Literal["set_days"] = "set_days"
    id: Id
    wish: Wish
    agreed: Annotated[str, Field(max_length=4000)] = Field(
        description="The sentence of `DaysAnswer` that the person agreed to."
    )


class Day(Fact):
    """One evening, as the almanac has it."""

    date: str
    sentence: str = Field(description="First Frost from 16:21 to 22:30, half as bright from 21:30.")
    pieces: list[Piece]
    by: Literal["rule", "hand", "nobody"] = Field(
        description="Who put it there: a rule of the almanac, somebody who chose, or nobody."
    )
    why: str = Field(description="The rule's name, or the reason that somebody gave.")
    dark: bool = Field(description="Somebody chose that it is dark.")
    brightness: float = Field(description="0..1: the brightest that it gets; 1 if nothing plays.")


class Days(Fact):
    """Some evenings in a row, to those who look at them."""

    type: Literal["days"] = "days"
    tonight: str
    farthest: str = Field(description="The last date that may be changed from here.")
    days: list[Day]
    problem: str = Field(description="What is wrong in the almanac, or that there is none.")


class DaysAnswer(Fact):
    """The answer to `AskDays`."""

    type: Literal["days_answer"] = "days_answer"
    id: int
    sentence: str = Field(description="What it does, and what holds after that.")
    notes: list[str] = Field(description="What else is to be known.")
    hushed: bool = Field(description="Whether the quiet hours take some of it away.")
