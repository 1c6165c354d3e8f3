"""Which days: the small language of an almanac's ``on``, parsed once into a function of the year.

``every day`` · ``friday`` · ``friday..sunday`` · ``weekend`` · ``12-24`` · ``2026-12-24`` ·
``4th thursday of november`` · ``last monday of may`` · ``first saturday of every month`` ·
``thanksgiving``, ``easter`` and other days with a name · ``holiday`` · ``holiday labor day`` ·
``RRULE:FREQ=WEEKLY;BYDAY=FR`` (RFC 5545; ``DTSTART:20260102 RRULE:…`` says where to count from).
All but the last may end in ``- 2 days`` or ``+ 1 day``. Two days of the year make a range, from the
one to the next of the other: ``12-01..01-06`` (across the new year), ``thanksgiving..01-01``.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache, partial
from typing import Any

from lumenmap.almanac.did_you_mean import MONTHS, WEEKDAYS, did_you_mean
from lumenmap.almanac.feasts import FEASTS, feast
from lumenmap.almanac.named import NAMES, rule_of
from lumenmap.almanac.public import public
from lumenmap.almanac.rrule import rrule
from lumenmap.core.errors import InputError, near

_COUNTS = ("1st first", "2nd second", "3rd third", "4th fourth", "5th fifth")
_NTH = {word: n for n, words in enumerate(_COUNTS, 1) for word in words.split()} | {"last": -1}
_LIKE = (
    '"friday", "friday..sunday", "12-01..01-06", "thanksgiving..01-01", '
    '"4th thursday of november", "first saturday of every month", "easter - 2 days" or '
    '"RRULE:FREQ=WEEKLY;BYDAY=FR"'
)
#: Words that every week or month has a day for, so that they can't end a range of days.
_OFTEN = ("every day", "daily", "weekend", "holiday", *WEEKDAYS)
_ONE_DAY = timedelta(days=1)

Find = Callable[[int], frozenset[date]]


@dataclass(frozen=True, slots=True)
class Days:
    """A set of days: what was written, and a function from a year to its days."""

    text: str
    find: Find

    def __contains__(self, day: date) -> bool:
        return day in self.find(day.year)


def parse_days(text: str, country: str = "", *, several: bool = True) -> Days:
    """Read one expression of days.

    Parameters
    ----------
    country
        The country whose public holidays ``holiday`` stands for: two letters, or ``US-OR`` with
        a part of it.
    several
        Whether a list of days may be written here instead.

    Raises
    ------
    InputError
        Not an expression of days, or a date or a holiday that doesn't exist.
    """
    words = " ".join(text.split())
    if not words or len(words) > 200:
        raise InputError(f'days are "{text[:40]}"; expected days such as {_LIKE}')
    if "RRULE:" in words.upper():
        find = rrule(words.upper())
    else:
        try:
            find = _words(words.lower(), country)
        except InputError as error:
            known = partial(_words, country=country)
            if not (offer := did_you_mean(words.lower(), known, several=several)):
                raise
            raise InputError(f'"{words[:60]}" isn\'t a day{offer}') from error
    return Days(words, lru_cache(8)(find))


def _words(words: str, country: str) -> Find:
    start, dots, stop = (part.strip() for part in words.partition(".."))
    if not dots:
        return _day(words, country)
    if start in WEEKDAYS and stop in WEEKDAYS:
        first, last = WEEKDAYS.index(start), WEEKDAYS.index(stop)
        chosen = {(first + i) % 7 for i in range((last - first) % 7 + 1)}
        return lambda year: _weekdays(year, chosen)
    if all(re.fullmatch(r"\d{4}-\d\d-\d\d", end) for end in (start, stop)):
        return _dates(start, stop)
    if all(re.fullmatch(r"\d\d-\d\d", end) for end in (start, stop)):
        return _season(start, stop)
    for end in (start, stop):
        if end in _OFTEN or "every month" in end or "each month" in end:
            raise InputError(
                f'"{end}" comes more than once a year, so it can\'t end a range; give two days of '
                'the year, as in "thanksgiving..01-01"'
            )
    return _between(_day(start, country), _day(stop, country))


def _day(words: str, country: str) -> Find:
    """Read a day that isn't a range, with or without an offset."""
    if m := re.fullmatch(r"(.+?)\s*([+-])\s*(\d{1,3})\s*days?", words):
        count = int(m[3]) * (1 if m[2] == "+" else -1)
        return _moved(_plain(m[1], country), timedelta(days=count))
    return _plain(words, country)


def _between(start: Find, stop: Find) -> Find:
    """From each start to the next stop. A feast of several days begins and ends a range whole."""

    def find(year: int) -> frozenset[date]:
        years = (year - 1, year, year + 1)
        starts, stops = ({day for y in years for day in f(y)} for f in (start, stop))
        chosen: set[date] = set()
        for first in (d for d in starts if d - _ONE_DAY not in starts):
            ends = [d for d in stops if d + _ONE_DAY not in stops and 0 <= (d - first).days <= 366]
            for i in range((min(ends) - first).days + 1 if ends else 0):
                chosen.add(first + i * _ONE_DAY)
        return frozenset(day for day in chosen if day.year == year)

    return find


def _moved(find: Find, by: timedelta) -> Find:
    def moved(year: int) -> frozenset[date]:
        around = {day for y in (year - 1, year, year + 1) for day in find(y)}
        return frozenset(day + by for day in around if (day + by).year == year)

    return moved


def _plain(words: str, country: str) -> Find:
    if words in ("every day", "daily"):
        return lambda year: _weekdays(year, range(7))
    if words == "weekend":
        return lambda year: _weekdays(year, (5, 6))
    if words in FEASTS:
        return lambda year: feast(words, year)
    if (rule := rule_of(words, country)) is not None:
        return _day(rule, country)
    if words == "holiday" or words.startswith("holiday "):
        return public(words.removeprefix("holiday").strip(), country)
    if m := re.fullmatch(r"(?:the )?(\w+) (\w+) (?:of|in) (every month|each month|\w+)", words):
        return _nth(*m.groups())
    if words in WEEKDAYS:
        return lambda year: _weekdays(year, (WEEKDAYS.index(words),))
    if re.fullmatch(r"\d{4}-\d\d-\d\d", words):
        return _dates(words, words)
    if re.fullmatch(r"\d\d-\d\d", words):
        return _season(words, words)
    if re.search(r"birthday|anniversary", words):
        raise InputError(
            f'"{words[:60]}" isn\'t a day; write its date: month and day, as in "06-05"'
        )
    hint = near(words, [*FEASTS, *NAMES, *_OFTEN])
    raise InputError(f'"{words[:60]}" isn\'t a day{hint or f"; expected days such as {_LIKE}"}')


def _weekdays(year: int, chosen: Any) -> frozenset[date]:
    return frozenset(d for d in _all_days(year) if d.weekday() in chosen)


@lru_cache(8)
def _all_days(year: int) -> tuple[date, ...]:
    first = date(year, 1, 1)
    return tuple(first + i * _ONE_DAY for i in range((date(year, 12, 31) - first).days + 1))


def _nth(which: str, weekday: str, month: str) -> Find:
    if which not in _NTH:
        raise InputError(
            f'"{which}" isn\'t a count{near(which, _NTH) or "; expected 1st to 5th, or last"}'
        )
    if weekday not in WEEKDAYS:
        raise InputError(
            f'"{weekday}" isn\'t a day of the week'
            f"{near(weekday, WEEKDAYS) or '; expected monday to sunday'}"
        )
    every = month in ("every month", "each month")
    if not every and month not in MONTHS:
        raise InputError(f'"{month}" isn\'t a month{near(month, MONTHS)}')
    n, weekday_number = _NTH[which], WEEKDAYS.index(weekday)
    months = range(1, 13) if every else (MONTHS.index(month) + 1,)

    def find(year: int) -> frozenset[date]:
        found: list[date] = []
        for m in months:
            days = [d for d in _all_days(year) if d.month == m and d.weekday() == weekday_number]
            found += days[n - 1 : n] if n > 0 else days[-1:]
        return frozenset(found)

    return find


def _dates(start: str, stop: str) -> Find:
    first, last = _date(start), _date(stop)
    if last < first:
        raise InputError(f"{start}..{stop} ends before it begins")

    def find(year: int) -> frozenset[date]:
        low, high = max(first, date(year, 1, 1)), min(last, date(year, 12, 31))
        return frozenset(low + i * _ONE_DAY for i in range((high - low).days + 1))

    return find


def _date(text: str, written: str = "") -> date:
    """Return a date; ``written`` is what stands in the file, if that is something else."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        day = "a day of the year; expected one such as 06-05" if written else ""
        day = day or "a date; expected a date such as 2026-06-05"
        raise InputError(f'"{written or text}" isn\'t {day}') from None


def _season(start: str, stop: str) -> Find:
    """Month and day, every year. 02-29 is the 28th in common years, so that no year is left out."""
    ends = []
    for text in (start, stop):
        if re.fullmatch(r"\d\d-\d\d", text):
            _date(f"2024-{text}", text)
        else:
            _date(text)
        ends.append(tuple(map(int, text.split("-"))))
    first, last = ends

    def find(year: int) -> frozenset[date]:
        leap = len(_all_days(year)) == 366
        low, high = ((2, 28) if e == (2, 29) and not leap else e for e in (first, last))
        across = low > high
        chosen = []
        for d in _all_days(year):
            at = (d.month, d.day)
            if (at >= low or at <= high) if across else low <= at <= high:
                chosen.append(d)
        return frozenset(chosen)

    return find
