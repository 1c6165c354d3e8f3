"""The almanac file's shape: what a person writes, checked before anything is computed."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field

from lumenmap.core.geography import country
from lumenmap.core.tables import Table

Words = str | list[str]
Brightness = Annotated[float, Field(gt=0, le=1, description="0 to 1 of the show's own light.")]


def _country(code: str) -> str:
    return country(code) if code else ""


class PlaceTable(Table):
    """``place``: where the sun sets, and which clock is kept."""

    latitude: float = Field(ge=-90, le=90, description="Degrees north.")
    longitude: float = Field(ge=-180, le=180, description="Degrees east; west is negative.")
    timezone: str = Field(description="Its name in the IANA time zone database.")


class AlmanacTable(Table):
    """``[almanac]``: what holds for every rule."""

    name: str = Field("", description="Its title; the file's name if left out.")
    house: str | None = Field(
        None, description="The house file, in the same folder; gives the place if none is here."
    )
    place: PlaceTable | None = Field(None, description="Where the sun sets.")
    country: Annotated[str, AfterValidator(_country)] = Field(
        "", description='Whose public holidays: "US", "DE", "CA-BC".'
    )
    dark: Words = Field(default_factory=list, description="Days on which nothing plays.")
    brightness: Brightness = 1.0


class QuietTable(Table):
    """``[quiet]``: hours in which nothing plays, unless a rule says that it may."""

    from_: str = Field(alias="from", description='As "22:30".')
    to: str = Field(description='As "06:00".')


class DimTable(Table):
    """``[[dim]]``: from a time to a time all light is turned down."""

    from_: str = Field(alias="from", description='As "22:00" or "sunset + 3 h".')
    to: str = Field(description='As "23:30".')
    brightness: Brightness


class RuleTable(Table):
    """``[[rule]]``: a show, its days and its hours."""

    name: str = Field("", description="Its title; the show's if left out.")
    show: str = Field(description="The show file, in the same folder.")
    on: Words = Field(description='Days: "friday", "12-01..01-06", "easter - 2 days", "RRULE:…".')
    not_on: Words = Field(default_factory=list, description="Days that are left out again.")
    days_before: int = Field(0, ge=0, le=60, description="Also so many days before each of them.")
    days_after: int = Field(0, ge=0, le=60, description="Also so many days after.")
    from_: str = Field("sunset", alias="from", description='As "sunset - 15 min" or "17:30".')
    to: str = Field("23:00", description='As "23:00" or "sunrise"; may be after midnight.')
    priority: int = Field(0, ge=-1000, le=1000, description="The higher one plays.")
    brightness: Brightness = 1.0
    in_quiet_hours: bool = Field(False, description="Play on through the quiet hours.")


class OnceTable(Table):
    """``[[once]]``: one day is different. Goes before every rule."""

    date: str = Field(description="As 2026-12-31.")
    name: str = Field("", description="Its title.")
    show: str | None = Field(None, description="The show file; nothing plays if left out.")
    from_: str = Field("sunset", alias="from", description="As in a rule.")
    to: str = Field("23:00", description="As in a rule.")
    brightness: Brightness = 1.0
    in_quiet_hours: bool = Field(False, description="Play on through the quiet hours.")


class AlmanacFile(Table):
    """A whole almanac file."""

    almanac: AlmanacTable
    quiet: QuietTable | None = None
    dim: list[DimTable] = Field(default_factory=list, max_length=50)
    rule: list[RuleTable] = Field(default_factory=list, max_length=1000)
    once: list[OnceTable] = Field(default_factory=list, max_length=1000)
