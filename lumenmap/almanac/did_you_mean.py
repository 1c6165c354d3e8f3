"""Suggestions for days written another way: with slashes, in words, with a dash."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

from lumenmap.core.errors import InputError

MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_WEEKDAY = "|".join(WEEKDAYS)
#: A weekday as it is often cut short: mon, tues, thurs.
_SHORT = re.compile(r"\b(mon|tues?|wed|thu(?:rs?)?|fri|sat|sun)\b(?:\.(?!\.))?")
_BIWEEKLY = re.compile(rf"every (?:second|2nd|other) ({_WEEKDAY})s?")
_OTHER = {"weekdays": "monday..friday", "workdays": "monday..friday", "xmas": "christmas"}


def did_you_mean(words: str, read: Callable[[str], object], *, several: bool = True) -> str:
    """Suggest ``11-26..01-01`` for ``11/26..1/1`` and the like, or return the empty string.

    Only what ``read`` accepts is suggested, and a list of days only where there may be ``several``.
    """
    if m := _BIWEEKLY.fullmatch(words):
        number = WEEKDAYS.index(m[1])
        first = 1 + (number - date(2026, 1, 1).weekday()) % 7
        rule = f"DTSTART:2026010{first} RRULE:FREQ=WEEKLY;INTERVAL=2;BYDAY={m[1][:2].upper()}"
        return f'; write "{rule}", with the date of the first one'
    parts = re.split(r"\s*(?:,|;|&|\band\b)\s*", words) if several else []
    found = [_readable(part, read) for part in parts if part]
    if len(found) > 1 and all(found):
        return "; write [" + ", ".join(f'"{text}"' for text in found) + "]"
    text = _readable(words, read)
    if text in ("", words):
        return ""
    return f'; write "{text}"{" (month-day)" if re.search(r"[0-9]-", text) else ""}'


def _readable(words: str, read: Callable[[str], object]) -> str:
    """Return how days are written, or the empty string if that isn't seen."""
    # A full stop may end a day's number, "24.12."; two are between the ends of a range.
    pair = re.compile(r"(?<![\d-])(\d{1,2})([/.-])(\d{1,2})(?:\.(?!\.))?(?![\d-])")
    # Where full stops are used the day comes first, and nobody writes both ways at once.
    day_first = any(m[2] == "." or int(m[1]) > 12 for m in pair.finditer(words))

    def month_day(m: re.Match[str]) -> str:
        a, b = (int(m[3]), int(m[1])) if day_first else (int(m[1]), int(m[3]))
        return f"{a:02}-{b:02}"

    def named(m: re.Match[str]) -> str:
        month = next(i for i, name in enumerate(MONTHS, 1) if name.startswith(m["month"][:3]))
        return f"{month:02}-{int(m['before'] or m['after']):02}"

    months = "|".join(rf"{name[:3]}(?:{name[3:]})?" for name in MONTHS)
    text = pair.sub(month_day, words)
    nth = r"(?:st|nd|rd|th)?"
    text = re.sub(
        rf"\b(?:(?P<before>\d{{1,2}}){nth} )?(?P<month>{months})\b"
        rf"(?(before)| (?P<after>\d{{1,2}}){nth}\b)",
        named,
        text,
    )
    text = _OTHER.get(text, text)
    text = _SHORT.sub(lambda m: next(day for day in WEEKDAYS if day.startswith(m[1])), text)
    text = re.sub(rf"^(?:every |each |on )?({_WEEKDAY})s?$", r"\1", text)
    text = re.sub(rf"\b({_WEEKDAY}) ?- ?({_WEEKDAY})\b", r"\1..\2", text)
    text = re.sub(r"\s*(?:…|–|—| to | until | through )\s*", "..", text)
    text = re.sub(r"(?<=\d) +- +(?=\d\d-\d\d)", "..", text)
    try:
        read(text)
    except InputError:
        return ""
    return text
