"""Feasts whose date moves: Easter by the computus, lunar ones by the tables of `holidays`.

Easter: the anonymous Gregorian computus (Nature, 20 April 1876; Meeus, Astronomical Algorithms,
ch. 8), and Meeus's Julian one for the Orthodox date. Chinese, Hindu and Islamic feasts come from
the calendars of the holidays library, whose tables go from about 1900 to 2100; Islamic dates that
are not announced yet are its estimates and can be a day off.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from lumenmap.core.errors import InputError
from lumenmap.core.extras import install


def easter(year: int) -> date:
    """Return Western Easter Sunday of a year from 1583."""
    a, (b, c) = year % 19, divmod(year, 100)
    d, e = divmod(b, 4)
    g = (8 * b + 13) // 25
    h = (19 * a + b - d - g + 15) % 30
    i, k = divmod(c, 4)
    weekday = (32 + 2 * e + 2 * i - h - k) % 7
    m = (a + 11 * h + 19 * weekday) // 433
    month = (h + weekday - 7 * m + 90) // 25
    return date(year, month, (h + weekday - 7 * m + 33 * month + 19) % 32)


def orthodox_easter(year: int) -> date:
    """Return Orthodox Easter Sunday, 1900 to 2099, in the Gregorian calendar."""
    d = (19 * (year % 19) + 15) % 30
    e = (2 * (year % 4) + 4 * (year % 7) - d + 34) % 7
    month, day = divmod(d + e + 114, 31)
    return date(year, month, day + 1) + timedelta(days=13)  # Julian to Gregorian


def feast(name: str, year: int) -> frozenset[date]:
    """Return the days of a feast that fall in a year; none, one or more."""
    days = [day for y in (year - 1, year) for day in FEASTS[name](y)]  # some cross the new year
    return frozenset(day for day in days if day.year == year)


def _one(calendar: str, method: str) -> Callable[[int], list[date]]:
    def dates(year: int) -> list[date]:
        found = getattr(_calendar(calendar), method)(year)[0]
        return [found] if found else []

    return dates


def _diwali(year: int) -> list[date]:
    """Return the date in India; the library's other table, a month late in 2025, goes further."""
    return _one("_HinduLunisolar", "diwali_india_date")(year) or _one(
        "_HinduLunisolar", "diwali_date"
    )(year)


def _several(calendar: str, method: str) -> Callable[[int], list[date]]:
    """Islamic years are short: a feast can fall twice in a year, or not at all."""

    def dates(year: int) -> list[date]:
        return [day for day, _ in getattr(_calendar(calendar), method)(year)]

    return dates


def _evenings(method: str, days: int) -> Callable[[int], list[date]]:
    """Return the evenings of a Hebrew feast: its days begin on the evening before."""

    def dates(year: int) -> list[date]:
        first = getattr(_calendar("_HebrewLunisolar"), method)(year)
        return [first + timedelta(days=i - 1) for i in range(days)] if first else []

    return dates


def _advent(year: int) -> list[date]:
    """Return the days from the fourth Sunday before Christmas Day to Christmas Eve [M]."""
    first = date(year, 12, 3) - timedelta(days=(date(year, 12, 3).weekday() + 1) % 7)
    return [first + timedelta(days=i) for i in range((date(year, 12, 24) - first).days + 1)]


def _from(month: int, day: int, days: int) -> Callable[[int], list[date]]:
    return lambda year: [date(year, month, day) + timedelta(days=i) for i in range(days)]


def _hanukkah(year: int) -> list[date]:
    # The library gives the first day; the first candle is lit on the evening before it.
    first: set[date] = _calendar("_HebrewLunisolar").hanukkah_date(year)
    return [day + timedelta(days=i) for day in first for i in range(-1, 7)]


def _calendar(name: str) -> Any:
    try:
        import holidays.calendars
    except ImportError:
        raise InputError(f"lunar feasts need the holidays library: {install('almanac')}") from None
    return getattr(holidays.calendars, name)()


FEASTS: dict[str, Callable[[int], list[date]]] = {
    "easter": lambda year: [easter(year)],
    "orthodox easter": lambda year: [orthodox_easter(year)],
    "lunar new year": _one("_ChineseLunisolar", "lunar_new_year_date"),
    "mid-autumn": _one("_ChineseLunisolar", "mid_autumn_date"),
    "dragon boat": _one("_ChineseLunisolar", "dragon_boat_date"),
    "diwali": _diwali,
    "holi": _one("_HinduLunisolar", "holi_date"),
    "hanukkah": _hanukkah,
    "eid al-fitr": _several("_IslamicLunar", "eid_al_fitr_dates"),
    "eid al-adha": _several("_IslamicLunar", "eid_al_adha_dates"),
    "ramadan begins": _several("_IslamicLunar", "ramadan_beginning_dates"),
    "islamic new year": _several("_IslamicLunar", "hijri_new_year_dates"),
    "mawlid": _several("_IslamicLunar", "mawlid_dates"),
    "passover": _evenings("passover_date", 8),
    "purim": _evenings("purim_date", 1),
    "rosh hashanah": _evenings("rosh_hashanah_date", 2),
    "shavuot": _evenings("shavuot_date", 2),
    "sukkot": _evenings("sukkot_date", 7),
    "yom kippur": _evenings("yom_kippur_date", 1),
    "vesak": _one("_BuddhistLunisolar", "vesak_date"),
    "advent": _advent,
    "first advent": lambda year: _advent(year)[:1],
    "kwanzaa": _from(12, 26, 7),
    "twelve days of christmas": _from(12, 25, 12),
}
