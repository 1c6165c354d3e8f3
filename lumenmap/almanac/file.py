"""The almanac file's shape: what a person writes, checked before anything is computed."""

from __future__ import annotations

import datetime
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field

from lumenmap.core.errors import InputError
from lumenmap.core.geography import country
from lumenmap.core.tables import Table
from lumenmap.core.validation import shown


def _written(value: Any) -> Any:
    """Return a date or time of TOML as a person would have written it in quotes."""
    if isinstance(value, datetime.time):
        return f"{value:%H:%M}"
    # A date and time of day is more than a day: its own error says so.
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value.isoformat()
    return [_written(item) for item in value] if isinstance(value, list) else value


def _date(value: Any) -> Any:
    if not isinstance(written := _written(value), str):
        raise InputError(f"is {shown(value)}; expected a date such as 2026-06-05")
    return written


Words = Annotated[str | list[str], BeforeValidator(_written)]
Day = Annotated[str, BeforeValidator(_date)]
Time = Annotated[str, BeforeValidator(_written)]
Brightness = Annotated[float, Field(gt=0, le=1, description="0 to 1 of the show's own brightness.")]


def _country(code: str) -> str:
    return country(code) if code else ""


class PlaceTable(Table):
    """``place``: where the house is, for sunset and local time."""

    latitude: float = Field(ge=-90, le=90, description="Degrees north.")
    longitude: float = Field(ge=-180, le=180, description="Degrees east; west is negative.")
    timezone: str = Field(description="A name of the IANA time zone database.")


class AlmanacTable(Table):
    """``[almanac]``: settings for every rule."""

    name: str = Field("", description="Its title; the file's name if left out.")
    house: str | None = Field(
        None, description="The house file, in the same folder; gives the place if none is here."
    )
    place: PlaceTable | None = Field(None, description="Where the house is, for sunset.")
    country: Annotated[str, AfterValidator(_country)] = Field(
        "", description='The country whose public holidays count: "US", "DE", "CA-BC".'
    )
    dark: Words = Field(default_factory=list, description="Days on which nothing plays.")
    brightness: Brightness = 1.0


class QuietTable(Table):
    """``[quiet]``: hours in which nothing plays, unless a rule has in_quiet_hours."""

    from_: Time = Field(alias="from", description='As "22:30".')
    to: Time = Field(description='As "06:00".')


class DimTable(Table):
    """``[[dim]]``: hours in which all light is turned down."""

    from_: Time = Field(alias="from", description='As "22:00" or "sunset + 3 h".')
    to: Time = Field(description='As "23:30".')
    brightness: Brightness


class RuleTable(Table):
    """``[[rule]]``: a show, its days and its hours."""

    name: str = Field("", description="Its title; the show file's name if left out.")
    show: str = Field(description="The show file, in the same folder.")
    on: Words = Field(description='Days: "friday", "12-01..01-06", "easter - 2 days", "RRULE:…".')
    not_on: Words = Field(default_factory=list, description="Days to leave out.")
    days_before: int = Field(0, ge=0, le=60, description="Also this many days before each of them.")
    days_after: int = Field(0, ge=0, le=60, description="Also this many days after each of them.")
    from_: Time = Field("sunset", alias="from", description='As "sunset - 15 min" or "17:30".')
    to: Time = Field("23:00", description='As "23:00" or "sunrise"; may be after midnight.')
    priority: int = Field(
        0, ge=-1000, le=1000, description="Where rules overlap, the higher priority plays."
    )
    brightness: Brightness = 1.0
    in_quiet_hours: bool = Field(False, description="Play during quiet hours too.")


class OnceTable(Table):
    """``[[once]]``: an exception for one day, before every rule."""

    date: Day = Field(description="The day, as 2026-12-31.")
    name: str = Field("", description="Its title.")
    show: str | None = Field(None, description="The show file; nothing plays if left out.")
    from_: Time = Field("sunset", alias="from", description="As in a rule.")
    to: Time = Field("23:00", description="As in a rule.")
    brightness: Brightness = 1.0
    in_quiet_hours: bool = Field(False, description="Play during quiet hours too.")


class AlmanacFile(Table):
    """A whole almanac file."""

    almanac: AlmanacTable
    quiet: QuietTable | None = None
    dim: list[DimTable] = Field(default_factory=list, max_length=50)
    rule: list[RuleTable] = Field(default_factory=list, max_length=1000)
    once: list[OnceTable] = Field(default_factory=list, max_length=1000)
