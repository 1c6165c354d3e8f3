"""Dates, times and brightness in the words of the page."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from lumenmap.almanac.dated import Span


def percent(level: float) -> str:
    """Return a brightness as the page writes it; the space doesn't break."""
    return f"{100 * level:.0f}\N{NO-BREAK SPACE}%"


def day_words(day: date, today: date) -> str:
    """Return a date for people, with its year if that isn't this winter's: ``24 December``."""
    far = abs((day - today).days) > 300
    return f"{day.day} {day:%B}{f' {day.year}' if far else ''}"


def when(span: Span, today: date) -> str:
    """Return days for people: ``on Thursday 24 December``, ``from 3 to 10 December``."""
    first, last = span.first, span.last
    if len(span) == 1:
        return f"on {first:%A} {day_words(first, today)}"
    begin = str(first.day)
    end = day_words(last, today)
    if (first.year, first.month) != (last.year, last.month):
        with_year = first.year != last.year and end.endswith(str(last.year))
        begin = f"{first.day} {first:%B}{f' {first.year}' if with_year else ''}"
    return f"on {begin} and {end}" if len(span) == 2 else f"from {begin} to {end}"


def listed(words: Sequence[str]) -> str:
    """Return words as a list in a sentence: ``a, b and c``."""
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def time_words(text: str) -> str:
    """Return an almanac's time in a sentence: ``10 min before sunset``."""
    m = re.fullmatch(r"\s*([a-z]+)\s*([+-])\s*(\S.*?)\s*", text)
    if not m:
        return text.strip()
    return f"{m[3]} {'after' if m[2] == '+' else 'before'} {m[1]}"
