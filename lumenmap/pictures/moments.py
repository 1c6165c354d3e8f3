"""Moments in a show, as people write and read them: 90, 90 s, 1:30, 1:30.5, 1:02:30."""

from __future__ import annotations

import re
from fractions import Fraction

from lumenmap.core.errors import InputError
from lumenmap.core.units import duration

_CLOCK = re.compile(r"(?:(\d{1,3}):)?(\d{1,4}):(\d{2}(?:\.\d{1,6})?)", re.ASCII)


def read_moment(text: str, key: str = "at") -> float:
    """Return the seconds of a moment: minutes and seconds with a colon, or a time.

    Raises
    ------
    InputError
        Neither; more than 59 seconds after a colon; or before the start.
    """
    found = _CLOCK.fullmatch(text.strip())
    if found is None:
        try:
            return float(_positive(duration(text.strip())))
        except ValueError:
            raise InputError(
                f'is "{text[:40]}"; expected a moment such as 2:05, 125 or "125 s"', key=key
            ) from None
    hours, minutes, seconds = int(found[1] or 0), int(found[2]), Fraction(found[3])
    if seconds >= 60 or (found[1] and minutes >= 60):
        raise InputError(
            f'is "{text[:40]}"; after a colon, 59 is the most, as in 2:05 or 1:02:05', key=key
        )
    return float(3600 * hours + 60 * minutes + seconds)


def _positive(seconds: Fraction) -> Fraction:
    if seconds < 0:
        raise ValueError("before the start")
    return seconds


def show_moment(seconds: float) -> str:
    """Return a moment as 2:05.0, to the tenth of a second."""
    tenths = round(seconds * 10)
    minutes, rest = divmod(tenths, 600)
    return f"{minutes}:{rest // 10:02d}.{rest % 10}"
