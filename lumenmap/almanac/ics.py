r"""The year as an iCalendar file (RFC 5545), one event for each stretch of an evening's show.

RFC 5545 has no rule for sunset, so every evening is an event of its own, in UTC, which needs no
time zone table. Lines end in CRLF and are folded at 75 octets (3.1); text escapes ``\ ; ,`` and
line ends (3.3.11).
"""

from __future__ import annotations

import os
import uuid
from collections import Counter
from collections.abc import Iterable
from datetime import UTC, datetime

from lumenmap.almanac.model import Almanac, Piece
from lumenmap.almanac.times import wall_clock
from lumenmap.almanac.tonight import Titles, played
from lumenmap.core.errors import InputError

_UTC = "%Y%m%dT%H%M%SZ"


def calendar(almanac: Almanac, pieces: Iterable[Piece], *, stamp: datetime | None = None) -> str:
    """Return the text of an ``.ics`` file.

    Parameters
    ----------
    stamp
        When it was made (DTSTAMP); by default what SOURCE_DATE_EPOCH says, or now.

    Raises
    ------
    InputError
        SOURCE_DATE_EPOCH isn't a time.
    """
    made = (stamp or _now()).astimezone(UTC).strftime(_UTC)
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//lumenmap//almanac//EN",
        "CALSCALE:GREGORIAN",
        f"X-WR-CALNAME:{_text(almanac.name)}",
    ]
    titles, many = Titles(), Counter[str]()
    for event in _events(pieces):
        first, last = event[0], event[-1]
        start, stop = (round_second(t).strftime(_UTC) for t in (first.start, last.stop))
        # By the date, not the time: a year that is read in again replaces the one before.
        key = f"{almanac.name}/{first.rule}/{first.day}"
        many[key] += 1
        lines += [
            "BEGIN:VEVENT",
            f"UID:{uuid.uuid5(uuid.NAMESPACE_OID, f'{key}/{many[key]}')}",
            f"DTSTAMP:{made}",
            f"DTSTART:{start}",
            f"DTEND:{stop}",
            f"SUMMARY:{_text(first.rule)}",
            f"DESCRIPTION:{_text(_described(almanac, event, titles[first.show]))}",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(_fold(line) + "\r\n" for line in lines)


def _events(pieces: Iterable[Piece]) -> list[list[Piece]]:
    """Return pieces as events: a show that is dimmed, or brighter again, goes on."""
    events: list[list[Piece]] = []
    for piece in pieces:
        last = events[-1][-1] if events else None
        same = last and (last.stop, last.begun, last.rule) == (piece.start, piece.begun, piece.rule)
        if same:
            events[-1].append(piece)
        else:
            events.append([piece])
    return events


def _described(almanac: Almanac, event: list[Piece], title: str) -> str:
    """Return what plays: ``Snow, at 50 % from 21:30``."""
    parts = [played(title, event[0].brightness)]
    zone = almanac.place.zone
    parts += [f"at {100 * p.brightness:.0f} % from {wall_clock(p.start, zone)}" for p in event[1:]]
    return ", ".join(parts)


def _now() -> datetime:
    """Return the time, or the one that makes files reproducible.

    The variable is that of reproducible-builds.org/specs/source-date-epoch [P].
    """
    told = os.environ.get("SOURCE_DATE_EPOCH")
    if told is None:
        return datetime.now(UTC)
    try:
        return datetime.fromtimestamp(int(told), UTC)
    except (ValueError, OverflowError, OSError):
        raise InputError(
            f'is "{told[:40]}"; expected seconds since 1970-01-01 UTC', key="SOURCE_DATE_EPOCH"
        ) from None


def round_second(moment: datetime) -> datetime:
    """Return the nearest whole second."""
    return datetime.fromtimestamp(round(moment.timestamp()), UTC)


def _text(words: str) -> str:
    for plain, escaped in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        words = words.replace(plain, escaped)
    return "".join(c for c in words if c >= " ")


def _fold(line: str) -> str:
    """Fold at 75 octets, never inside a character."""
    parts: list[str] = []
    now = b""
    for char in line:
        octets = char.encode()
        if len(now) + len(octets) > (75 if not parts else 74):
            parts.append(now.decode())
            now = b""
        now += octets
    return "\r\n ".join([*parts, now.decode()])
