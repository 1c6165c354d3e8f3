"""What a person chooses for one evening, as ``[[once]]`` tables: data in, data out.

A choice is written into the almanac like anything else in it: whoever edits the file puts the
tables that `chosen` returns in the place of those it has. So a choice outlives restarts, and is
seen and changed in an editor.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from lumenmap.almanac.model import Almanac, Piece

#: Before this hour an evening that has ended, or was turned off, is still "tonight".
_MORNING = 5


@dataclass(frozen=True, slots=True)
class Choice:
    """One evening's light.

    Attributes
    ----------
    show
        The show file's name; None is dark.
    brightness
        0..1, more than 0.
    start, stop
        When it begins and ends, as in an almanac: ``sunset``, ``22:30``.
    quiet
        Whether it plays on through the quiet hours.
    """

    show: str | None
    brightness: float = 1.0
    start: str = "sunset"
    stop: str = "23:00"
    quiet: bool = False


def tonight_date(almanac: Almanac, moment: datetime) -> date:
    """Return the date that the evening of a moment goes by; after midnight, the day before's."""
    if (piece := almanac.at(moment)) is not None:
        return almanac.today(piece.begun)
    local = moment.astimezone(almanac.place.zone)
    return local.date() - timedelta(days=local.hour < _MORNING)


def planned(almanac: Almanac, moment: datetime) -> Choice:
    """Return what plays on the evening of a moment: now, else its first piece, else dark."""
    piece = almanac.at(moment)
    if piece is None:
        pieces = almanac.evening(tonight_date(almanac, moment))[0]
        piece = next((p for p in pieces if p.stop > moment), pieces[0] if pieces else None)
    if piece is None:
        return Choice(None)
    rule = _rule(almanac, piece)
    if rule is None:
        return Choice(piece.show.name, brightness=piece.brightness)
    name = piece.show.relative_to(almanac.file.parent).as_posix()
    return Choice(name, rule.brightness, rule.start.text, rule.stop.text, rule.in_quiet_hours)


def light_now(almanac: Almanac, moment: datetime, show: str, *, hours: float = 3.0) -> Choice:
    """Return a choice that lights a show from now on, for so many hours at most.

    Where the evening's rule plays at this time, it keeps its hours; the quiet hours hold.
    """
    if almanac.at(moment) is not None:
        found = planned(almanac, moment)
        return Choice(show, found.brightness, found.start, found.stop, found.quiet)
    zone = almanac.place.zone
    start = moment.astimezone(zone)
    stop = start + timedelta(hours=hours)
    # An evening ends before the next noon (`lumenmap.almanac.times`).
    return Choice(show, start=f"{start:%H:%M:%S}", stop=f"{stop:%H:%M}")


def chosen(
    once: Iterable[Mapping[str, Any]], day: date, choice: Choice | None
) -> list[dict[str, Any]]:
    """Return an almanac's ``[[once]]`` tables with one evening's choice; None takes it back.

    Parameters
    ----------
    once
        The tables there are, as TOML has them; those of other days stay as they are.
    """
    kept = [dict(table) for table in once if str(table.get("date")) != day.isoformat()]
    if choice is None:
        return kept
    table: dict[str, Any] = {"date": day.isoformat()}
    if choice.show is not None:
        table |= {"show": choice.show, "from": choice.start, "to": choice.stop}
        if choice.brightness < 1:
            table["brightness"] = round(choice.brightness, 4)
        if choice.quiet:
            table["in_quiet_hours"] = True
    return [*kept, table]


def _rule(almanac: Almanac, piece: Piece) -> Any:
    return next(
        (r for r in reversed(almanac.rules) if (r.name, r.show) == (piece.rule, piece.show)), None
    )
