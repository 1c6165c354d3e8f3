"""What a person chooses for one evening, as ``[[once]]`` tables: data in, data out.

The one owner of what "tonight" is and of how it is changed, whoever asks: the family at the desk, a
home hub. A choice is written into the almanac like anything else in it, in the rules' own words
where these hold: whoever edits the file puts the tables that `chosen` returns in the place of those
it has. So a choice outlives restarts, and is seen and changed in an editor.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from lumenmap.almanac.dated import Span, dated
from lumenmap.almanac.model import Almanac, Piece
from lumenmap.almanac.rules import Rule
from lumenmap.almanac.times import parse_time, span, wall_clock
from lumenmap.almanac.values import Values
from lumenmap.core.errors import InputError

#: Before this hour an evening that has ended, or was turned off, is still "tonight".
_MORNING = 5


@dataclass(frozen=True, slots=True)
class Choice:
    """One evening's light, or a stretch of it.

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
    name
        What its rule is called; empty: by its show.
    values
        For the show's own: numbers, since what a rule counts is counted from its own days.
    """

    show: str | None
    brightness: float = 1.0
    start: str = "sunset"
    stop: str = "23:00"
    quiet: bool = False
    name: str = ""
    values: Values = ()

    def playing(self, show: str) -> Choice:
        """Return the same hours for a show; values of another one aren't its own."""
        return replace(self, show=show, values=self.values if show == self.show else ())

    def table(self, days: date | Span) -> dict[str, Any]:
        """Return its ``[[once]]`` table."""
        table: dict[str, Any] = {"date": days.text if isinstance(days, Span) else str(days)}
        table |= {"name": self.name} if self.name else {}
        if self.show is not None:
            table |= {"show": self.show, "from": self.start, "to": self.stop}
            table |= {"brightness": round(self.brightness, 4)} if self.brightness < 1 else {}
            table |= {"in_quiet_hours": True} if self.quiet else {}
            table |= {"values": dict(self.values)} if self.values else {}
        return table


def tonight_date(almanac: Almanac, moment: datetime) -> date:
    """Return the date that the evening of a moment goes by; after midnight, the day before's."""
    if (piece := almanac.at(moment)) is not None:
        return piece.day
    local = moment.astimezone(almanac.place.zone)
    # Unless this very date was made dark: then its evening had begun already, at midnight.
    only = Span(local.date(), local.date())
    made_dark = any(dated(days.text) == only for days in (*almanac.dark, *almanac.off))
    return local.date() - timedelta(days=local.hour < _MORNING and not made_dark)


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
    return replace(_choice(almanac, rule, piece), name="")


def stretches(almanac: Almanac, day: date) -> list[Choice]:
    """Return what plays on a date, each rule's own stretch of it, as it begins.

    A stretch that another rule cuts short, or the quiet hours, has its times by the clock.
    """
    found: dict[tuple[str, datetime], list[Piece]] = {}
    for piece in almanac.evening(day)[0]:
        found.setdefault((piece.rule, piece.begun), []).append(piece)
    made = []
    for pieces in found.values():
        rule = _rule(almanac, pieces[0])
        assert rule is not None
        whole = span(rule.start, rule.stop, day, almanac.place)
        start, stop = pieces[0].start, pieces[-1].stop
        begins = start == pieces[0].begun
        ends = not isinstance(whole, str) and stop == whole[1]
        one = replace(
            _choice(almanac, rule, pieces[0]),
            start=rule.start.text if begins else clock(almanac, start),
            stop=rule.stop.text if ends else clock(almanac, stop),
        )
        made.append((start, -(stop - start), one))
    return [one for *_, one in sorted(made, key=lambda m: m[:2])]


def brightest(almanac: Almanac, day: date) -> float:
    """Return how bright a date's evening gets, 0..1; 1 if nothing plays."""
    return max((one.brightness for one in stretches(almanac, day)), default=1.0)


def light_now(almanac: Almanac, moment: datetime, show: str, *, hours: float = 3.0) -> Choice:
    """Return a choice that lights a show from now on, for so many hours at most.

    Where the evening's rule plays at this time, it keeps its hours; the quiet hours hold.
    """
    if almanac.at(moment) is not None:
        return planned(almanac, moment).playing(show)
    zone = almanac.place.zone
    start = moment.astimezone(zone)
    stop = start + timedelta(hours=hours)
    # An evening ends before the next noon (`lumenmap.almanac.times`).
    return Choice(show, start=f"{start:%H:%M:%S}", stop=f"{stop:%H:%M}")


def another_show(almanac: Almanac, moment: datetime, show: str, until: str | None = None) -> Choice:
    """Return a choice that has another show play tonight, as long as something was to play.

    Raises
    ------
    InputError
        The evening is over, or ``until`` isn't a time.
    """
    day = tonight_date(almanac, moment)
    made = instead(almanac, day, show)
    made = replace(made, stop=until or made.stop)
    whole = span(parse_time(made.start), parse_time(made.stop), day, almanac.place)
    if isinstance(whole, str):
        raise InputError(f"that would never play tonight: {whole}")
    if whole[1] <= moment:
        ended = clock(almanac, whole[1])
        raise InputError(f"tonight ended at {ended}; choose until when it should play")
    return made


def instead(almanac: Almanac, day: date, show: str) -> Choice:
    """Return a choice that has a show play on a date as long as something was to play."""
    known = stretches(almanac, day)
    if not known:
        return Choice(show)
    last = max(known, key=lambda one: _moment(almanac, day, one.stop, one.start))
    return Choice(
        show,
        max(one.brightness for one in known),
        known[0].start,
        last.stop,
        any(one.quiet for one in known),
        values=next((one.values for one in known if one.show == show), ()),
    )


def as_bright(almanac: Almanac, moment: datetime, level: float) -> list[Choice]:
    """Return choices that have tonight's shows play at a brightness, 0..1.

    Raises
    ------
    InputError
        Nothing plays tonight, or nothing any more.
    """
    day = tonight_date(almanac, moment)
    known = stretches(almanac, day)
    if not known:
        raise InputError("nothing plays tonight; choose a show first")
    if (end := almanac.evening(day)[0][-1].stop) <= moment:
        raise InputError(f"tonight ended at {clock(almanac, end)}; choose a show and its hours")
    return [replace(one, brightness=level) for one in known]


def chosen(
    once: Iterable[Mapping[str, Any]], day: date, choice: Choice | Sequence[Choice] | None
) -> list[dict[str, Any]]:
    """Return an almanac's ``[[once]]`` tables with one evening's choice; None takes it back.

    Parameters
    ----------
    once
        The tables there are, as TOML has them; those of other days stay as they are.
    """
    kept = [dict(table) for table in once if not is_of(table, day)]
    made = [choice] if isinstance(choice, Choice) else choice or []
    return [*kept, *(one.table(day) for one in made)]


def is_of(table: Mapping[str, Any], day: date) -> bool:
    """Return whether a ``[[once]]`` table is about a date alone, however it is written."""
    return dated(table.get("date")) == Span(day, day)


def clock(almanac: Almanac, moment: datetime) -> str:
    """Return a moment's local time to the minute: ``16:21``."""
    return wall_clock(moment, almanac.place.zone)


def _choice(almanac: Almanac, rule: Rule, piece: Piece) -> Choice:
    """Return a rule's light in its own words, and with its values on a piece's evening."""
    show = rule.show.relative_to(almanac.file.parent).as_posix()
    name = rule.name if rule.name != rule.show.stem else ""
    times = rule.start.text, rule.stop.text
    values = tuple((n, int(v) if v == int(v) else v) for n, v in piece.values)
    return Choice(show, rule.brightness, *times, rule.in_quiet_hours, name, values)


def _rule(almanac: Almanac, piece: Piece) -> Rule | None:
    """Return a piece's rule: of several of one name and show, as for other days, its day's own."""
    known = [*almanac.rules, *almanac.rules_on(piece.day)]
    return next((r for r in reversed(known) if (r.name, r.show) == (piece.rule, piece.show)), None)


def _moment(almanac: Almanac, day: date, stop: str, start: str) -> datetime:
    whole = span(parse_time(start), parse_time(stop), day, almanac.place)
    return datetime.min.replace(tzinfo=UTC) if isinstance(whole, str) else whole[1]
