"""The evenings to come, one by one, as the page shows them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any, Literal

from lumenmap.almanac.choice import brightest
from lumenmap.almanac.model import Almanac
from lumenmap.almanac.several import is_dark, of_evening, reasons
from lumenmap.core.plain import plain
from lumenmap.desk.evenings.tonight import piece, played
from lumenmap.desk.wire.days import Day

_LONGEST = 200


class Calendar:
    """Evenings, each worked out once for as long as the almanac and the shows' titles stay."""

    def __init__(self) -> None:
        self._of: tuple[Almanac | None, dict[str, str]] = None, {}
        self._known: dict[date, Day] = {}

    def days(
        self,
        almanac: Almanac,
        wanted: Iterable[date],
        once: list[Any],
        now: datetime,
        titles: Mapping[str, str],
    ) -> list[Day]:
        """Return evenings.

        Parameters
        ----------
        once
            The almanac file's ``[[once]]`` tables.
        titles
            Of the show files, by name.
        """
        if self._of[0] is not almanac or self._of[1] != titles:
            self._of = almanac, dict(titles)
            self._known.clear()
        today, found = almanac.today(now), []
        for day in wanted:
            if day <= today or day not in self._known:  # what plays now changes by itself
                self._known[day] = _day(almanac, day, once, now, titles)
            found.append(self._known[day])
        return found


def _day(
    almanac: Almanac, day: date, once: Iterable[Any], now: datetime, titles: Mapping[str, str]
) -> Day:
    pieces, notes = almanac.evening(day)
    chosen = of_evening(once, day)
    by: Literal["rule", "hand", "nobody"] = "hand" if chosen else "rule" if pieces else "nobody"
    if chosen:
        why = reasons(chosen)
    elif pieces:
        why = ", ".join(dict.fromkeys(p.rule for p in pieces))
    elif any(day in days for days in almanac.dark):
        why = "a dark day of the almanac"
    else:
        why = notes[0] if notes else ""
    return Day(
        date=day.isoformat(),
        sentence=f"{played(almanac, pieces, titles)}." if pieces else "",
        pieces=[piece(almanac, p, now, titles) for p in pieces],
        by=by,
        why=plain(why, _LONGEST),
        dark=is_dark(chosen),
        brightness=brightest(almanac, day),
    )
