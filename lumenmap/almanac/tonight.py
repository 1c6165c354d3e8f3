"""One evening in words and as a table."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from lumenmap.almanac.model import Almanac
from lumenmap.almanac.sun import crossing
from lumenmap.almanac.year import row
from lumenmap.core.errors import InputError


def parse_date(text: str) -> date:
    """Read a date such as 2026-12-24.

    Raises
    ------
    InputError
        It isn't one.
    """
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(
            f'"{text[:40]}" isn\'t a date; expected a date such as 2026-06-05'
        ) from None


def _next(almanac: Almanac, day: date) -> str:
    """Return which evening within a year is the next with a show."""
    for days in range(1, 367):
        later = day + timedelta(days=days)
        if pieces := almanac.evening(later)[0]:
            return f"; next is {later:%A} {later.day} {later:%B}: {pieces[0].show.name}"
    return " in the year to come either"


def _over(almanac: Almanac, day: date) -> list[str]:
    """Return the rules whose days are all past, as where a year is written with them."""
    year = [day + timedelta(days=days) for days in range(-1, 367)]
    rules = [rule for rule in almanac.rules if not rule.priority[0]]
    return [rule.name for rule in rules if not any(map(rule.applies, year))]


def tonight(almanac: Almanac, day: date) -> tuple[dict[str, Any], list[str]]:
    """Return an evening as a table for JSON, and as lines for people."""
    pieces, notes = almanac.evening(day)
    sunset = crossing(almanac.place, day, rising=False)
    if isinstance(sunset, datetime):
        local = sunset.astimezone(almanac.place.zone) + timedelta(seconds=30)
        sun = f"sunset {local:%H:%M}"
    else:
        sun = "the sun doesn't set" if sunset == "day" else "the sun doesn't rise"
    rows = [row(almanac, piece) for piece in pieces]
    lines = [f"{day:%A} {day.day} {day:%B %Y}, {almanac.place.zone.key}: {sun}"]
    for r in rows:
        dimmed = f" at {100 * r['brightness']:.0f} %" if r["brightness"] < 1 else ""
        given = "".join(f", {name} {number:g}" for name, number in r["values"].items())
        lines.append(f"  {r['from']} to {r['to']}  {r['show']}{given}{dimmed}  ({r['rule']})")
    lines += [f"  not played: {note}" for note in notes]
    if not rows:
        lines.append("  nothing plays" + _next(almanac, day))
    lines += [
        f"  {name} is over: it has no day in the year to come" for name in _over(almanac, day)
    ]
    missing = sorted({p.show.name for p in pieces if not p.show.exists()})
    lines += [f"  missing: {name} doesn't exist" for name in missing]
    report = {
        "date": day.isoformat(),
        "timezone": almanac.place.zone.key,
        "sunset": sunset.isoformat(timespec="seconds") if isinstance(sunset, datetime) else None,
        "pieces": rows,
        "notes": notes,
        "problems": [f"{name} doesn't exist" for name in missing],
    }
    return report, lines
