"""One evening, and each piece of it, in words and as a table; shows go by their titles."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from lumenmap.almanac.model import Almanac, Piece
from lumenmap.almanac.sun import crossing
from lumenmap.almanac.times import wall_clock, wall_clocks
from lumenmap.almanac.values import coming
from lumenmap.core.errors import InputError
from lumenmap.core.files import near_file
from lumenmap.core.names import LONGEST
from lumenmap.core.plain import plain
from lumenmap.core.toml.reading import load_toml

#: Evenings are worked out for these years; a feast's tables end in 2100 or so.
FIRST_YEAR, LAST_YEAR = 1900, 2200
#: A piece for a table or JSON, as `row` makes it.
Row = dict[str, Any]


class Titles(dict[Path, str]):
    """The titles of show files, each read when it is first asked for.

    A show that has none, or can't be read, goes by its file's name.
    """

    def __missing__(self, show: Path) -> str:
        title = None
        with contextlib.suppress(InputError):
            table = load_toml(show, "show").get("show")
            title = table.get("name") if isinstance(table, dict) else None
        known = isinstance(title, str) and title.strip()
        self[show] = plain(str(title) if known else show.stem, LONGEST)
        return self[show]


def played(
    title: str, brightness: float, rule: str = "", values: Mapping[str, float] | None = None
) -> str:
    """Return what plays in words: a show's title, its values, how bright, and by which rule.

    A rule without a name of its own has the show's.
    """
    given = "".join(f", {name} {number:g}" for name, number in (values or {}).items())
    dimmed = f" at {100 * brightness:.0f} %" if brightness < 1 else ""
    return f"{title}{given}{dimmed}" + (f" ({rule})" if rule not in ("", title) else "")


def row(almanac: Almanac, piece: Piece, title: str) -> Row:
    """Return a piece for a table or JSON: local times to the minute, and UTC; its show's title."""
    begin, end = wall_clocks(piece.start, piece.stop, almanac.place.zone)
    return {
        "date": piece.day.isoformat(),
        "from": begin,
        "to": end,
        "rule": piece.rule,
        "show": piece.show.name,
        "title": title,
        "brightness": round(piece.brightness, 4),
        "values": dict(piece.values),
        "start": piece.start.isoformat(timespec="seconds"),
        "stop": piece.stop.isoformat(timespec="seconds"),
    }


def parse_date(text: str) -> date:
    """Read a date such as 2026-12-24.

    Raises
    ------
    InputError
        It isn't one, or of a year that calendars aren't worked out for.
    """
    try:
        found = date.fromisoformat(text)
    except ValueError:
        raise InputError(
            f'"{text[:40]}" isn\'t a date; expected a date such as 2026-06-05'
        ) from None
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise InputError(f"{found} is out of range; expected a date of {FIRST_YEAR} to {LAST_YEAR}")
    return found


def _next(almanac: Almanac, day: date, titles: Titles) -> str:
    """Return which evening within a year is the next with a show."""
    for days in range(1, 367):
        later = day + timedelta(days=days)
        if pieces := almanac.evening(later)[0]:
            return f"; next is {later:%A} {later.day} {later:%B}: {titles[pieces[0].show]}"
    return " in the year to come either"


def _year(day: date) -> list[date]:
    """Return the days of the year to come, and the day before."""
    return [day + timedelta(days=days) for days in range(-1, 367)]


def _over(almanac: Almanac, day: date) -> list[str]:
    """Return the rules whose days are all past, as where a year is written with them."""
    rules = [rule for rule in almanac.rules if not rule.once]
    return [rule.name for rule in rules if not any(map(rule.applies, _year(day)))]


def missing(almanac: Almanac, days: Iterable[date]) -> list[str]:
    """Say which shows don't exist that rules play on some of these days."""
    gone = dict.fromkeys(rule.show for rule in almanac.rules if not rule.show.exists())
    if not gone:
        return []
    days = list(days)
    found = []
    for show in gone:
        rules = [r for r in almanac.rules if r.show == show and any(map(r.applies, days))]
        # A rule without a name of its own is called by its show.
        names = [r.name for r in rules if r.name != show.stem]
        by = f", the show of {', '.join(dict.fromkeys(names))}," if names else ""
        if rules:
            found.append(f"{show.name}{by} doesn't exist{near_file(show, '*.toml')}")
    return found


def _counted(almanac: Almanac, day: date) -> list[str]:
    """Say which values of an evening's rules have nothing left to count."""
    goals = ((rule.name, c.goal) for rule in almanac.rules_on(day) for _, c in rule.values)
    return [
        f'{name}: "days until {goal.text}" stays 0, since that day won\'t come again'
        for name, goal in goals
        if goal is not None and coming(goal, day) is None
    ]


def tonight(almanac: Almanac, day: date) -> tuple[dict[str, Any], list[str]]:
    """Return an evening as a table for JSON, and as lines for people."""
    pieces, notes = almanac.evening(day)
    sunset = crossing(almanac.place, day, rising=False)
    if isinstance(sunset, datetime):
        sun = f"sunset {wall_clock(sunset, almanac.place.zone)}"
    else:
        sun = "the sun doesn't set" if sunset == "day" else "the sun doesn't rise"
    titles = Titles()
    rows = [row(almanac, piece, titles[piece.show]) for piece in pieces]
    lines = [f"{day:%A} {day.day} {day:%B %Y}, {almanac.place.zone.key}: {sun}"]
    for r in rows:
        what = played(r["title"], r["brightness"], r["rule"], r["values"])
        lines.append(f"  {r['from']} to {r['to']}  {what}")
    lines += [f"  not played: {note}" for note in notes]
    if not rows:
        lines.append("  nothing plays" + _next(almanac, day, titles))
    lines += [
        f"  {name} is over: it has no day in the year to come" for name in _over(almanac, day)
    ]
    lines += [f"  {line}" for line in _counted(almanac, day)]
    problems = [almanac.elsewhere] if almanac.elsewhere else []
    problems += missing(almanac, _year(day))
    lines += [f"  problem: {text}" for text in problems]
    report = {
        "date": day.isoformat(),
        "timezone": almanac.place.zone.key,
        "sunset": sunset.isoformat(timespec="seconds") if isinstance(sunset, datetime) else None,
        "pieces": rows,
        "notes": notes,
        "problems": problems,
    }
    return report, lines
