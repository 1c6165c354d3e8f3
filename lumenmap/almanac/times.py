"""Times of an evening: ``"sunset + 15 min"``, ``"22:30"``, ``"dusk"``; resolved on a local day."""

from __future__ import annotations

import contextlib
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache
from typing import Literal

from lumenmap.almanac.sun import CIVIL, SET, Place, crossing, noon
from lumenmap.core.errors import InputError, near
from lumenmap.core.units import duration

SunTime = Literal["sunset", "dusk", "sunrise", "dawn"]
#: Name to (rising, degrees below the horizon).
_SUN: dict[SunTime, tuple[bool, float]] = {
    "sunset": (False, SET),
    "dusk": (False, CIVIL),
    "sunrise": (True, SET),
    "dawn": (True, CIVIL),
}
_LIKE = '"sunset + 15 min", "dusk", "22:30", "10:30 pm" or "sunrise - 1 h"'
#: A clock's time of 24 hours, or of 12 with am or pm.
_CLOCK = r"\d{1,2}(?::\d\d){0,2}\s*[ap]\.?m\.?|\d{1,2}:\d\d(?::\d\d)?"


@dataclass(frozen=True, slots=True)
class TimeOfDay:
    """A clock time or a position of the sun, and an offset; ``days`` is 1 for 24:00."""

    text: str
    sun: SunTime | None
    clock: time
    offset: timedelta
    days: int = 0

    @property
    def of_morning(self) -> bool:
        """Whether it is sunrise or dawn, which ends an evening on the next day."""
        return self.sun in ("sunrise", "dawn")

    def wall(self, day: date) -> datetime:
        """Return the local wall time of a clock time."""
        return datetime.combine(day + timedelta(days=self.days), self.clock) + self.offset

    def on(self, day: date, place: Place) -> datetime | Literal["day", "night"]:
        """Return the moment in UTC on a local day, or which of day and night lasts all day."""
        if self.sun is None:
            midnight = day + timedelta(days=self.days)
            return _clock(datetime.combine(midnight, self.clock), place) + self.offset
        rising, below = _SUN[self.sun]
        found = crossing(place, day, rising=rising, below=below)
        return found + self.offset if isinstance(found, datetime) else found


def _clock(local: datetime, place: Place) -> datetime:
    """Return a wall time in UTC.

    A time that the spring change skips moves later by the length of the gap; a time that the autumn
    change repeats is its first occurrence (RFC 5545, 3.3.5).
    """
    return local.replace(tzinfo=place.zone, fold=0).astimezone(UTC)


def parse_time(text: str) -> TimeOfDay:
    """Read a time of day.

    Raises
    ------
    InputError
        Neither a clock time nor one of the sun's, or an offset beyond 12 hours.
    """
    m = re.fullmatch(rf"\s*({_CLOCK}|[a-z]+)\s*(?:([+-])\s*(\S.*?))?\s*", text.lower())
    if meant := _otherwise(text.strip().lower()):
        raise InputError(f'"{text[:40]}" isn\'t a time; write {meant}')
    if not m:
        raise InputError(f'"{text[:40]}" isn\'t a time; expected a time such as {_LIKE}')
    base, sign, amount = m.groups()
    offset = timedelta(0)
    if sign:
        if re.fullmatch(r"[\d.]+", amount):
            raise InputError(
                f'"{text[:40]}" has no unit; write "{base} {sign} {amount[:8]} min" or "… h"'
            )
        offset = timedelta(seconds=float(duration(amount, what="offset")))
        if offset > timedelta(hours=12):
            raise InputError(f'"{text[:40]}" is over 12 h away from {base}')
        offset = -offset if sign == "-" else offset
    if base[0].isdigit():
        hour, minute, second = _read_clock(base)
        return TimeOfDay(text, None, time(hour % 24, minute, second), offset, hour // 24)
    sun = next((name for name in _SUN if name == base), None)
    if sun is None:
        raise InputError(
            f'"{base[:40]}" isn\'t a time{near(base, _SUN) or f"; expected a time such as {_LIKE}"}'
        )
    return TimeOfDay(text, sun, time(), offset)


def _otherwise(text: str) -> str:
    """Return how a time is written that people write as 22.00, 22h00, 2200 or midnight."""
    if m := re.fullmatch(r"(\d{1,2})\s*[.h]\s*(\d\d)?\s*([ap]m)?|(\d\d)(\d\d)", text):
        hour, minute = m[1] or m[4], m[2] or m[5] or "00"
        found = f"{hour}:{minute}{f' {m[3]}' if m[3] else ''}"
        with contextlib.suppress(InputError):
            _read_clock(found)
            return f'"{found}"'
    known = {"midnight": '"24:00", or "00:00" where a day begins', "noon": '"12:00"'}
    return known.get(text, "")


def _read_clock(text: str) -> tuple[int, int, int]:
    """Read ``23:30``, ``23:30:15``, ``11:30 pm`` or ``11 pm``; the hour may be 24."""
    digits = text.rstrip("apm. ")
    hour, minute, second = ([int(part) for part in digits.split(":")] + [0, 0])[:3]
    if digits != text.rstrip():
        if not 1 <= hour <= 12 or minute > 59 or second > 59:
            raise InputError(f'"{text}" isn\'t a clock time; expected 12:00 am to 11:59 pm')
        return hour % 12 + (12 if "p" in text else 0), minute, second
    if hour > 24 or minute > 59 or second > 59 or (hour == 24 and (minute or second)):
        raise InputError(f'"{text}" isn\'t a clock time; expected 00:00 to 24:00')
    return hour, minute, second


def wall_clock(moment: datetime, zone: tzinfo) -> str:
    """Return a moment's local time to the minute: ``16:21``."""
    return f"{moment.astimezone(zone) + timedelta(seconds=30):%H:%M}"


def wall_clocks(start: datetime, stop: datetime, zone: tzinfo) -> tuple[str, str]:
    """Return the local times of a stretch; those of a whole day are 00:00 and 24:00."""
    begin, end = wall_clock(start, zone), wall_clock(stop, zone)
    return begin, "24:00" if begin == end == "00:00" and start < stop else end


def check_span(start: TimeOfDay, stop: TimeOfDay) -> None:
    """Refuse a stretch whose ends are one time: it may be meant as nothing or as a whole day.

    Raises
    ------
    InputError
        They are.
    """
    same = (start.sun, start.clock, start.offset, start.days) == (
        stop.sun,
        stop.clock,
        stop.offset,
        stop.days,
    )
    if same:
        raise InputError(
            f'from and to are both "{start.text}": no time, or a whole day? Write when it ends; '
            'a whole day is "00:00" to "24:00"'
        )


@lru_cache(4096)  # each is asked for on three evenings, and at every look
def span(
    start: TimeOfDay, stop: TimeOfDay, day: date, place: Place
) -> tuple[datetime, datetime] | str:
    """Return the stretch that begins on a local day, in UTC; or why there is none, in words.

    Where the sun stays up all day, no stretch begins at sunset. Where it stays down, sunset counts
    as when the sun is highest, and sunrise as when it is highest on the next day.
    """
    begin = start.on(day, place)
    if begin == "day":
        return f"the sun doesn't set ({start.text})"
    if begin == "night":
        begin = noon(place, day) + start.offset
    last = day + timedelta(days=_ends_tomorrow(start, stop, day))
    end = stop.on(last, place)
    if end == "day":
        return f"the sun doesn't set ({stop.text})"
    if end == "night":
        end = noon(place, last) + stop.offset
    assert isinstance(begin, datetime)
    assert isinstance(end, datetime)
    if begin < end:
        return begin, end
    if start.sun is None and stop.sun is None:
        return f"the change of clocks skips {start.text} to {stop.text}"
    return f"{start.text} is after {stop.text} on this day"


def _ends_tomorrow(start: TimeOfDay, stop: TimeOfDay, day: date) -> bool:
    """Return whether a stretch that begins on a day ends on the next, as written.

    An evening ends by the next noon, a morning on its own day: where the sun sets at 22:06,
    "sunset" to "22:00" is nothing, and not a night and a day. Of two clock times the wall decides,
    also in the hour that a change of clocks skips.
    """
    noonday = datetime.combine(day, time(12))
    morning = start.of_morning if start.sun else start.wall(day) < noonday
    if stop.sun:
        return stop.of_morning and not morning
    if start.sun:
        return not morning and stop.wall(day) < noonday
    return stop.wall(day) <= start.wall(day)
