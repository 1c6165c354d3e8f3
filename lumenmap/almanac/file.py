"""The almanac file's shape: what a person writes, checked before anything is computed."""

from __future__ import annotations

import datetime
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field

from lumenmap.core.errors import InputError
from lumenmap.core.geography import country
from lumenmap.core.names import Title
from lumenmap.core.plain import shown
from lumenmap.core.quantity import Quantity
from lumenmap.core.toml.tables import Table


def _written(value: Any) -> Any:
    """Return a date or time of TOML as a person would have written it in quotes."""
    if isinstance(value, datetime.time):
        return f"{value:%H:%M:%S}" if value.second else f"{value:%H:%M}"
    # A date and time of day is more than a day: its own error says so.
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value.isoformat()
    return [_written(item) for item in value] if isinstance(value, list) else value


def _date(value: Any) -> Any:
    if not isinstance(written := _written(value), str):
        raise InputError(f"is {shown(value)}; expected a date such as 2026-06-05")
    return written


_DAY = Quantity(
    "day",
    '"12-24", "2026-12-31", "friday", "friday..sunday", "12-01..01-06", "thanksgiving..01-01", '
    '"first saturday of december", "easter - 2 days", "diwali", "holiday", or "RRULE:…" as '
    "in RFC 5545; 02-29 is 02-28 in years that have none",
)
Words = Annotated[Annotated[str, _DAY] | list[Annotated[str, _DAY]], BeforeValidator(_written)]
Day = Annotated[str, BeforeValidator(_date), _DAY]
Time = Annotated[
    str,
    BeforeValidator(_written),
    Quantity(
        "time of day", '"17:30", "11 pm", "17:30:15", "24:00", "sunset - 15 min", "dusk", "sunrise"'
    ),
]
Brightness = Annotated[float, Field(gt=0, le=1, description="0 to 1 of the show's own brightness.")]


def _country(code: str) -> str:
    return country(code) if code else ""


Count = Annotated[
    str | float,
    Quantity("number, or what it counts", '"night", "year", "days until 12-25", or a number'),
]
_VALUES: Any = Field(
    default_factory=dict,
    description="Numbers for the show's [values]: night counts the days of `on` in a row, from 1.",
)


class PlaceTable(Table):
    """``place``: where the sun sets, and which clock is used."""

    latitude: float = Field(ge=-90, le=90, description="Degrees north.")
    longitude: float = Field(ge=-180, le=180, description="Degrees east; west is negative.")
    timezone: str = Field(description='Time zone by its IANA name: "America/Los_Angeles".')


class AlmanacTable(Table):
    """``[almanac]``: settings for every rule."""

    name: Title = Field(
        "",
        description="Its title; the file's name if left out, the folder's for almanac.toml.",
    )
    house: str | None = Field(
        None,
        description="The house file, in the same folder; its place is used if none is given here.",
    )
    place: PlaceTable | None = Field(None, description="Where the house is, for sunset.")
    country: Annotated[str, AfterValidator(_country)] = Field(
        "", description='The country whose public holidays count: "US", "DE", "CA-BC".'
    )
    dark: Words = Field(default_factory=list, description="Days on which nothing plays.")
    brightness: Brightness = 1.0


class QuietTable(Table):
    """``[quiet]``: hours in which nothing plays, unless a rule has in_quiet_hours."""

    from_: Time = Field(alias="from", description="When they begin.")
    to: Time = Field(description="When they end; may be the next morning.")


class DimTable(Table):
    """``[[dim]]``: hours in which all light is turned down."""

    from_: Time = Field(alias="from", description="When it begins.")
    to: Time = Field(description="When it ends.")
    brightness: Brightness


class RuleTable(Table):
    """``[[rule]]``: a show, its days and its hours."""

    name: Title = Field("", description="Its title; the show's if left out.")
    show: str = Field(description="The show file, in the same folder.")
    on: Words = Field(description="The days it plays.")
    not_on: Words = Field(default_factory=list, description="Days to leave out.")
    days_before: int = Field(0, ge=0, le=60, description="Play this many days before each, too.")
    days_after: int = Field(0, ge=0, le=60, description="Play this many days after each, too.")
    from_: Time = Field("sunset", alias="from", description="When it starts.")
    to: Time = Field("23:00", description="When it stops; may be after midnight.")
    priority: int = Field(
        0, ge=-1000, le=1000, description="Of several rules for an evening, the highest plays."
    )
    brightness: Brightness = 1.0
    in_quiet_hours: bool = Field(False, description="Whether it plays on through the quiet hours.")
    values: dict[Title, Count] = _VALUES


class OnceTable(Table):
    """``[[once]]``: what one day, or some days, do differently; it comes before every rule."""

    date: Day = Field(
        description="The day, such as 2026-12-31, or all from one to another: "
        "2026-12-03..2026-12-10. Of several tables for a day, those of that date alone count; else "
        "those from date to date; else those of every year."
    )
    name: Title = Field("", description="Its title; the show's if left out.")
    show: str | None = Field(None, description="The show file; nothing plays if left out.")
    from_: Time = Field("sunset", alias="from", description="When it starts.")
    to: Time = Field("23:00", description="When it stops; may be after midnight.")
    brightness: Brightness = 1.0
    in_quiet_hours: bool = Field(False, description="Whether it plays on through the quiet hours.")
    values: dict[Title, Count] = _VALUES


class AlmanacFile(Table):
    """A whole almanac file."""

    almanac: AlmanacTable
    quiet: QuietTable | None = None
    dim: list[DimTable] = Field(default_factory=list, max_length=50)
    rule: list[RuleTable] = Field(default_factory=list, max_length=1000)
    once: list[OnceTable] = Field(default_factory=list, max_length=1000)
