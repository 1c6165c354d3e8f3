"""Numbers that an evening gives a show: which night of a feast it is, the year, the days left.

``night`` · ``year`` · ``days until 12-25`` (any day of an almanac's ``on``) · a plain number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from lumenmap.almanac.days import Days, parse_days
from lumenmap.core.errors import InputError, near
from lumenmap.core.toml.validation import shown

#: A show's values for one evening, by name.
Values = tuple[tuple[str, float], ...]

_DAY = timedelta(days=1)
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
    words = " ".join(written.lower().split())
    if words in ("night", "year"):
        return Count(words)
    if words.startswith("days until "):
        goal = parse_days(words.removeprefix("days until "), country)
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


def _until(day: date, goal: Days) -> float:
    for days in range(732):
        if day + days * _DAY in goal:
            return days
    raise InputError(f'"{goal.text}" isn\'t within two years after {day:%Y-%m-%d}')
