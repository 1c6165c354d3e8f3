"""Numbers that an evening gives a show: which night of a feast it is, the year, the days left.

``night`` · ``year`` · ``days until 12-25`` (any day of an almanac's ``on``) · a plain number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import MAXYEAR, date, timedelta
from functools import lru_cache
from typing import Any

from lumenmap.almanac.days import Days, parse_days
from lumenmap.core.errors import InputError, near
from lumenmap.core.plain import shown

#: A show's values for one evening, by name.
Values = tuple[tuple[str, float], ...]

_DAY = timedelta(days=1)
#: A day that comes again does so within so many years, as does a fifth Friday in February.
_YEARS = 40
_WORDS = ("night", "year", "days until")
_LIKE = 'expected "night", "year", "days until 12-25" or a number'


@dataclass(frozen=True, slots=True)
class Count:
    """What is counted: a word, with the goal of ``days until``; or a number."""

    word: str
    goal: Days | None = None
    number: float = 0.0

    def on(self, day: date, feast: Sequence[Days]) -> float:
        """Return the number on a day of a feast."""
        if self.word == "night":
            return night(day, feast)
        if self.goal is not None:
            return _until(day, self.goal)
        return day.year if self.word == "year" else self.number


def parse_count(written: Any, country: str = "") -> Count:
    """Read what an almanac gives as a value.

    Raises
    ------
    InputError
        Not one of the words, nor a number; or not a day after ``days until``.
    """
    if isinstance(written, (int, float)) and not isinstance(written, bool):
        return Count("number", number=float(written))
    if not isinstance(written, str):
        raise InputError(f"is {shown(written)}; {_LIKE}")
    written = " ".join(written.split())
    words = written.lower()
    if words in ("night", "year"):
        return Count(words)
    if words.startswith("days until "):
        goal = parse_days(written[len("days until ") :], country)
        return Count("days until", goal)
    hint = near(words, _WORDS)
    raise InputError(f'is "{written[:60]}"{hint or ";"} {_LIKE}')


def night(day: date, on: Sequence[Days]) -> float:
    """Return the how-maniest of a feast's days in a row a day is, from 1.

    A day before the feast, which plays because of ``days_before``, counts down to it: 0, -1, …; a
    day after it counts on.
    """
    feast = next((d for d in _near(day) if any(d in days for days in on)), day)
    first = feast
    while any(first - _DAY in days for days in on) and (feast - first).days < 366:
        first -= _DAY
    return (day - first).days + 1


def _near(day: date) -> list[date]:
    """Return a day and those around it, the nearest first, up to two months away."""
    around = [day + i * _DAY for n in range(1, 62) for i in (-n, n)]
    return [day, *around]


@lru_cache(4096)  # asked at every look at an evening
def coming(goal: Days, day: date) -> date | None:
    """Return the first of a goal's days from a day on; None if no more comes."""
    for year in range(day.year, min(day.year + _YEARS, MAXYEAR) + 1):
        if days := [d for d in goal.find(year) if d >= day]:
            return min(days)
    return None


def _until(day: date, goal: Days) -> float:
    """Return the days left; 0 once no more comes: a count that has ended is no mistake."""
    found = coming(goal, day)
    return (found - day).days if found else 0
