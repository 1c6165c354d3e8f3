"""Which days: the small language of an almanac's ``on``, parsed once into a function of the year.

``every day`` · ``friday`` · ``friday..sunday`` · ``weekend`` · ``12-24`` · ``12-01..01-06`` (across
the new year) · ``2026-12-24`` · ``2026-12-24..2027-01-06`` · ``4th thursday of november`` ·
``last monday of may`` · ``easter`` and the other feasts · ``holiday`` · ``holiday labor day`` ·
``RRULE:FREQ=WEEKLY;BYDAY=FR`` (RFC 5545; ``DTSTART:20260102 RRULE:…`` says where to count from).
Any of them may end in ``- 2 days`` or ``+ 1 day``.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any

from lumenmap.almanac.feasts import FEASTS, feast
from lumenmap.core.errors import InputError, near

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
_NTH = {"1st": 1, "first": 1, "2nd": 2, "second": 2, "3rd": 3, "third": 3, "4th": 4, "fourth": 4,
        "5th": 5, "fifth": 5, "last": -1}  # fmt: skip
_LIKE = '"friday", "12-01..01-06", "4th thursday of november", "easter - 2 days" or "RRULE:…"'
_ONE_DAY = timedelta(days=1)

Find = Callable[[int], frozenset[date]]


@dataclass(frozen=True, slots=True)
class Days:
    """A set of days: what was written, and which days of a year it is."""

    text: str
    find: Find

    def __contains__(self, day: date) -> bool:
        return day in self.find(day.year)


def parse_days(text: str, country: str = "") -> Days:
    """Read one expression of days.

    Parameters
    ----------
    country
        Two letters, or ``US-OR`` with a part of it: whose public holidays ``holiday`` means.

    Raises
    ------
    InputError
        Not an expression, a date that doesn't exist, a holiday that the country doesn't have.
    """
    words = " ".join(text.split())
    if not words or len(words) > 200:
        raise InputError(f'days are "{text[:40]}"; wanted something like {_LIKE}')
    if "RRULE:" in words.upper():
        find = _rrule(words.upper())
    elif m := re.fullmatch(r"(.+?)\s*([+-])\s*(\d{1,3})\s*days?", words):
        count = int(m[3]) * (1 if m[2] == "+" else -1)
        find = _moved(_plain(m[1].lower(), country), timedelta(days=count))
    else:
        find = _plain(words.lower(), country)
    return Days(words, lru_cache(8)(find))


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
    if words == "holiday" or words.startswith("holiday "):
        return _holidays(words.removeprefix("holiday").strip(), country)
    if m := re.fullmatch(r"(\w+) (\w+) of (\w+)", words):
        return _nth(*m.groups())
    start, dots, stop = (part.strip() for part in words.partition(".."))
    if start in WEEKDAYS and (not dots or stop in WEEKDAYS):
        first, last = WEEKDAYS.index(start), WEEKDAYS.index(stop or start)
        chosen = {(first + i) % 7 for i in range((last - first) % 7 + 1)}
        return lambda year: _weekdays(year, chosen)
    if re.fullmatch(r"\d{4}-\d\d-\d\d", start):
        return _dates(start, stop or start)
    if re.fullmatch(r"\d\d-\d\d", start):
        return _season(start, stop or start)
    known = [*FEASTS, *WEEKDAYS, "every day", "weekend", "holiday"]
    hint = near(words, known) or near(start, known)
    raise InputError(f'"{words[:60]}" is no day{hint or ";"} wanted something like {_LIKE}')


def _weekdays(year: int, chosen: Any) -> frozenset[date]:
    return frozenset(d for d in _all_days(year) if d.weekday() in chosen)


@lru_cache(8)
def _all_days(year: int) -> tuple[date, ...]:
    first = date(year, 1, 1)
    return tuple(first + i * _ONE_DAY for i in range((date(year, 12, 31) - first).days + 1))


def _nth(which: str, weekday: str, month: str) -> Find:
    if which not in _NTH:
        raise InputError(f'"{which}" is no count{near(which, _NTH) or ";"} wanted 1st to 5th, last')
    if weekday not in WEEKDAYS:
        raise InputError(f'"{weekday}" is no day of the week{near(weekday, WEEKDAYS)}')
    if month not in MONTHS:
        raise InputError(f'"{month}" is no month{near(month, MONTHS)}')
    n, wanted, m = _NTH[which], WEEKDAYS.index(weekday), MONTHS.index(month) + 1

    def find(year: int) -> frozenset[date]:
        days = [d for d in _all_days(year) if d.month == m and d.weekday() == wanted]
        return frozenset(days[n - 1 : n] if n > 0 else days[-1:])

    return find


def _dates(start: str, stop: str) -> Find:
    first, last = _date(start), _date(stop)
    if last < first:
        raise InputError(f"{start}..{stop} ends before it begins")

    def find(year: int) -> frozenset[date]:
        low, high = max(first, date(year, 1, 1)), min(last, date(year, 12, 31))
        return frozenset(low + i * _ONE_DAY for i in range((high - low).days + 1))

    return find


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f'"{text}" is no date; wanted year-month-day, as 2026-12-24') from None


def _season(start: str, stop: str) -> Find:
    """Month and day, every year. 02-29 is the 28th in common years, so that no year is left out."""
    ends = []
    for text in (start, stop):
        _date(f"2024-{text}") if re.fullmatch(r"\d\d-\d\d", text) else _date(text)
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


def _holidays(name: str, country: str) -> Find:
    if not country:
        raise InputError('public holidays need a country: write country = "US" in [almanac]')
    code, _, part = country.partition("-")
    try:
        import holidays
    except ImportError:
        raise InputError(
            "public holidays need the holidays library: pip install 'lumenmap[almanac]'"
        ) from None

    def named(year: int) -> dict[date, str]:
        try:
            found = holidays.country_holidays(
                code, subdiv=part or None, years=year, observed=False, language="en_US"
            )
        except NotImplementedError:
            raise InputError(
                f'country is "{country[:20]}"; no public holidays are known for it. '
                "Wanted an ISO 3166 code, as US, DE or CA-BC"
            ) from None
        return dict(found.items())

    if name:
        known = {part.strip() for y in (2025, 2026, 2027) for n in named(y).values()
                 for part in n.split(";")}  # fmt: skip
        if not any(name in k.lower() for k in known):
            hint = near(name, [k.lower() for k in known])
            raise InputError(f'no public holiday "{name[:60]}" in {country}{hint or ";"} '
                             f"there are: {', '.join(sorted(known))}")  # fmt: skip
    else:
        named(2026)
    return lambda year: frozenset(d for d, n in named(year).items() if name in n.lower())


def _rrule(words: str) -> Find:
    m = re.fullmatch(r"(?:DTSTART[:=](\d{8})[ ;]*)?RRULE:(\S+)", words)
    if not m:
        raise InputError(f'"{words[:60]}" is no RRULE; wanted "RRULE:FREQ=WEEKLY;BYDAY=FR,SA", '
                         'with "DTSTART:20260102 " before it if it counts from a day')  # fmt: skip
    rule = m[2]
    if re.search(r"FREQ=(HOURLY|MINUTELY|SECONDLY)|BYHOUR|BYMINUTE|BYSECOND", rule):
        raise InputError(f'"{rule[:60]}" is about times; days are wanted here, see from and to')
    if not m[1] and re.search(r"COUNT=|INTERVAL=(?!1\b)", rule):
        raise InputError(f'"{rule[:60]}" counts; write "DTSTART:20260102 RRULE:…" so that it has '
                         "a day to count from")  # fmt: skip
    try:
        from dateutil.rrule import rrulestr
    except ImportError:
        raise InputError("RRULEs need python-dateutil: pip install 'lumenmap[almanac]'") from None
    try:
        start = datetime.strptime(m[1] or "20000101", "%Y%m%d")
        # A day is a day here: UNTIL with a time of day or Z would be compared with a zone's clock.
        parsed = rrulestr(re.sub(r"(UNTIL=\d{8})T\d{6}Z?", r"\1", rule), dtstart=start)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise InputError(f'"{rule[:60]}" is no RRULE of RFC 5545: {error}') from None

    def find(year: int) -> frozenset[date]:
        low, high = datetime(year, 1, 1), datetime(year, 12, 31)
        return frozenset(d.date() for d in parsed.between(low, high, inc=True))

    return find
