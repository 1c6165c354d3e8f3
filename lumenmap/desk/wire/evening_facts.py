"""What the page is told about an evening, as pydantic models."""

from __future__ import annotations

from pydantic import Field

from lumenmap.desk.wire.facts import Fact
from lumenmap.desk.wire.hours import Hours


class Piece(Fact):
    """A stretch of an evening, in local time."""

    start: str = Field(description="16:21")
    stop: str
    file: str
    title: str
    rule: str
    brightness: float
    on_now: bool


class Running(Fact):
    """What ``lumenmap run`` says of itself; null in `Tonight` if it never ran here."""

    alive: bool
    sentence: str
    lines: list[str] = Field(description="All that lumenmap status prints, for who asks.")
    problems: list[str]


class Tonight(Fact):
    """The evening in one sentence, and what may be changed."""

    file: str = Field(description="The almanac file; empty if there is none.")
    date: str
    sentence: str
    pieces: list[Piece]
    dark: bool = Field(description="Made dark for tonight on purpose.")
    brightness: float = Field(description="0..1: the brightest that the evening gets.")
    changed: bool = Field(description="Whether tonight differs from the usual rules.")
    can_undo: bool
    undoes: str = Field(description="What undo takes back: Another show.")
    problem: str
    hours: Hours | None = Field(description="Of every evening; null if there is no almanac.")
    hours_sentence: str = Field(description="Every evening: half as bright from 21:30 to 23:00.")
    running: Running | None
