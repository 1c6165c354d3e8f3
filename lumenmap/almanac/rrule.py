"""Days by a recurrence rule of RFC 5545, as calendars write them."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime

from lumenmap.core.errors import InputError
from lumenmap.core.extras import install


def rrule(words: str) -> Callable[[int], frozenset[date]]:
    """Return a function that gives a year's days of ``RRULE:…``.

    ``DTSTART:20260102 `` may stand before it.

    Raises
    ------
    InputError
        Not a rule of RFC 5545, one about times of day, or one with no day to count from.
    """
    m = re.fullmatch(r"(?:DTSTART[:=](\d{8})[ ;]*)?RRULE:(\S+)", words)
    if not m:
        raise InputError(
            f'"{words[:60]}" isn\'t an RRULE; expected "RRULE:FREQ=WEEKLY;BYDAY=FR,SA", '
            'with "DTSTART:20260102 " before it if it counts from a day'
        )
    rule = m[2]
    if re.search(r"FREQ=(HOURLY|MINUTELY|SECONDLY)|BYHOUR|BYMINUTE|BYSECOND", rule):
        raise InputError(
            f'"{rule[:60]}" repeats within a day; '
            "expected a rule for days (times go in from and to)"
        )
    if not m[1] and re.search(r"COUNT=|INTERVAL=(?!1\b)", rule):
        raise InputError(
            f'"{rule[:60]}" counts from a day; write "DTSTART:20260102 RRULE:…" to say which'
        )
    try:
        from dateutil.rrule import rrulestr
    except ImportError:
        raise InputError(f"RRULEs need python-dateutil: {install('almanac')}") from None
    try:
        start = datetime.strptime(m[1] or "20000101", "%Y%m%d")
        # Days only: UNTIL with a time of day or Z would be compared with a zone's clock.
        parsed = rrulestr(re.sub(r"(UNTIL=\d{8})T\d{6}Z?", r"\1", rule), dtstart=start)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise InputError(f'"{rule[:60]}" isn\'t an RRULE of RFC 5545: {error}') from None

    def find(year: int) -> frozenset[date]:
        low, high = datetime(year, 1, 1), datetime(year, 12, 31)
        try:
            return frozenset(d.date() for d in parsed.between(low, high, inc=True))
        except (ArithmeticError, LookupError, TypeError, ValueError) as error:
            raise InputError(
                f'"{rule[:60]}" has no days; check its BYDAY, BYMONTHDAY, BYWEEKNO and BYSETPOS'
            ) from error

    find(start.year)  # the library finds out late: BYDAY=99MO fails when a year is looked at
    return find
