"""Days by a recurrence rule of RFC 5545, as calendars write them."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime

from lumenmap.core.errors import InputError
from lumenmap.core.extras import install


def rrule(words: str) -> Callable[[int], frozenset[date]]:
    """Return what gives a year's days of ``RRULE:…``, with ``DTSTART:20260102 `` before it or not.

    Raises
    ------
    InputError
        No rule of RFC 5545, one about times of day, or one that counts from no day.
    """
    m = re.fullmatch(r"(?:DTSTART[:=](\d{8})[ ;]*)?RRULE:(\S+)", words)
    if not m:
        raise InputError(
            f'"{words[:60]}" is no RRULE; wanted "RRULE:FREQ=WEEKLY;BYDAY=FR,SA", '
            'with "DTSTART:20260102 " before it if it counts from a day'
        )
    rule = m[2]
    if re.search(r"FREQ=(HOURLY|MINUTELY|SECONDLY)|BYHOUR|BYMINUTE|BYSECOND", rule):
        raise InputError(f'"{rule[:60]}" is about times; days are wanted here, see from and to')
    if not m[1] and re.search(r"COUNT=|INTERVAL=(?!1\b)", rule):
        raise InputError(
            f'"{rule[:60]}" counts; write "DTSTART:20260102 RRULE:…" so that it has '
            "a day to count from"
        )
    try:
        from dateutil.rrule import rrulestr
    except ImportError:
        raise InputError(f"RRULEs need python-dateutil: {install('almanac')}") from None
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
