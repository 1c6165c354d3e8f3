"""Hours of every evening in which all light is turned down, or out: as told, and as asked for."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from lumenmap.desk.wire.message import Id, Message

Time = Annotated[str, Field(min_length=1, max_length=40, description="21:30, sunset + 2 h")]


class DimHours(Message):
    """All light is turned down from one time to another."""

    start: Time
    stop: Time
    level: float = Field(gt=0, le=1, description="0..1 of the show's own brightness.")


class QuietHours(Message):
    """Nothing plays from one time to another, but what is told to play on."""

    start: Time
    stop: Time


class Hours(Message):
    """Those of an almanac."""

    dims: list[DimHours] = Field(max_length=50)
    quiet: QuietHours | None


class SetHours(Message):
    """Have other hours from now on; refused if they aren't any more what the page showed."""

    type: Literal["set_hours"] = "set_hours"
    id: Id
    hours: Hours
    seen: Hours
