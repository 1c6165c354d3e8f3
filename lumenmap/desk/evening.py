"""Tonight: what the almanac says of it, in a sentence, and the edits that change it.

Strategy: tonight is changed by ``[[once]]`` tables of its date, which `lumenmap run` follows by
itself. They are made from what the rules would play, in the rules' own words where these hold.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from lumenmap.almanac.model import Almanac, Piece, Rule
from lumenmap.almanac.times import parse_time, span
from lumenmap.core.errors import InputError
from lumenmap.core.plain import plain
from lumenmap.desk.files.meaning import as_json
from lumenmap.desk.wire import facts
from lumenmap.desk.wire.asked import Edit, Insert, Remove
from lumenmap.jobs.evening.status import read_status
from lumenmap.jobs.evening.status_words import words

_FROM, _TO = "sunset", "23:00"


def evening_of(almanac: Almanac, now: datetime) -> date:
    """Return the date that an evening goes by; until it ends, also after midnight."""
    piece = almanac.at(now)
    return almanac.today(piece.begun if piece else now)


def tonight(
    almanac: Almanac, now: datetime, titles: Mapping[str, str], once: list[Any]
) -> facts.Tonight:
    """Return the evening as it stands.

    Parameters
    ----------
    titles
        Of the show files, by name.
    once
        The almanac file's ``[[once]]`` tables.
    """
    day = evening_of(almanac, now)
    pieces = almanac.evening(day)[0]
    shown = [_piece(almanac, p, now, titles) for p in pieces]
    own = [o for o in once if as_json(o.get("date")) == day.isoformat()]
    rules = [rule for rule, _, _ in _stretches(almanac, day)]
    dark = bool(own) and not any(o.get("show") for o in own)
    return facts.Tonight(
        file=almanac.file.name,
        date=day.isoformat(),
        sentence=_sentence(almanac, pieces, now, titles, dark),
        pieces=shown,
        dark=dark,
        brightness=max((r.brightness for r in rules), default=1.0),
        changed=bool(own),
        can_undo=False,
        undoes="",
        problem="",
        running=None,
    )


def _clock(almanac: Almanac, moment: datetime) -> str:
    return f"{moment.astimezone(almanac.place.zone) + timedelta(seconds=30):%H:%M}"


def _piece(almanac: Almanac, p: Piece, now: datetime, titles: Mapping[str, str]) -> facts.Piece:
    return facts.Piece(
        start=_clock(almanac, p.start),
        stop=_clock(almanac, p.stop),
        file=p.show.name,
        title=titles.get(p.show.name, p.show.stem),
        rule=p.rule,
        brightness=round(p.brightness, 4),
        on_now=p.start <= now < p.stop,
    )


def _sentence(
    almanac: Almanac,
    pieces: list[Piece],
    now: datetime,
    titles: Mapping[str, str],
    dark: bool,
) -> str:
    """Return the evening for people: First Frost from 16:21 to 22:30, half as bright from 21:30."""
    if dark:
        return "Dark tonight."
    parts: list[str] = []
    last: Piece | None = None
    for n, p in enumerate(pieces):
        if last and (last.show, last.stop) == (p.show, p.start):
            parts[-1] += f", {_compared(last.brightness, p.brightness)} from "
            parts[-1] += _clock(almanac, p.start)
        else:
            run = [q for q in pieces[n:] if q.show == p.show]
            end = p.stop
            for q in run:
                end = q.stop if q.start <= end else end
            title = titles.get(p.show.name, p.show.stem)
            text = f"{title} from {_clock(almanac, p.start)} to {_clock(almanac, end)}"
            parts.append(text if p.brightness == 1 else f"{text} at {p.brightness:.0%}")
        last = p
    if parts:
        over = pieces[-1].stop <= now
        return "; then ".join(parts) + (". It is over for tonight." if over else ".")
    coming = almanac.next(now)
    if coming is None:
        return "Nothing plays tonight, or in the year to come."
    day = coming.start.astimezone(almanac.place.zone)
    title = titles.get(coming.show.name, coming.show.stem)
    return f"Nothing plays tonight. Next: {title} on {day:%A %d %B}."


def _compared(before: float, after: float) -> str:
    if after == before / 2:
        return "half as bright"
    return f"at {after:.0%}"


def _stretches(almanac: Almanac, day: date) -> list[tuple[Rule, str, str]]:
    """Return the rules that play on a day, from and to in words; the longest first."""
    found: dict[tuple[str, datetime], list[Piece]] = {}
    for piece in almanac.evening(day)[0]:
        found.setdefault((piece.rule, piece.begun), []).append(piece)
    stretches = []
    for (name, begun), pieces in found.items():
        show = pieces[0].show
        rule = next(r for r in reversed(almanac.rules) if (r.name, r.show) == (name, show))
        whole = span(rule.start, rule.stop, day, almanac.place)
        start, stop = pieces[0].start, pieces[-1].stop
        begin = rule.start.text if start == begun else _clock(almanac, start)
        ends = not isinstance(whole, str) and stop == whole[1]
        end = rule.stop.text if ends else _clock(almanac, stop)
        stretches.append((stop - start, rule, begin, end))
    return [s[1:] for s in sorted(stretches, key=lambda s: -s[0])]


def _replaced(data: Mapping[str, Any], day: date, tables: list[dict[str, Any]]) -> list[Edit]:
    """Return the edits that make ``tables`` all that the almanac says of a date alone."""
    once: list[Any] = list(data.get("once", ()))
    edits: list[Edit] = []
    for number in reversed(range(len(once))):
        if as_json(once[number].get("date")) == day.isoformat():
            edits.append(Remove(path=["once", number], old=as_json(once[number])))
            del once[number]
    for number, table in enumerate(tables):
        edits.append(Insert(path=["once", len(once) + number], new=table))
    return edits


def choose(
    data: Mapping[str, Any], almanac: Almanac, now: datetime, show: str, until: str | None
) -> list[Edit]:
    """Return the edits that have another show play tonight, as long as something was to play.

    Raises
    ------
    InputError
        The evening is over, or ``until`` isn't a time.
    """
    day = evening_of(almanac, now)
    stretches = _stretches(almanac, day)
    pieces = almanac.evening(day)[0]
    table: dict[str, Any] = {"date": day.isoformat(), "show": show}
    if stretches:
        first = min(stretches, key=lambda s: _start(almanac, day, s[1]))
        table["from"] = first[1]
        table["to"] = until or _last(almanac, pieces, stretches)
        level = max(rule.brightness for rule, _, _ in stretches)
        table |= {"brightness": level} if level != 1 else {}
        table |= {"in_quiet_hours": True} if any(r.in_quiet_hours for r, _, _ in stretches) else {}
    else:
        table |= {"from": _FROM, "to": until or _TO}
    whole = span(parse_time(table["from"]), parse_time(table["to"]), day, almanac.place)
    if isinstance(whole, str):
        raise InputError(f"that would never play tonight: {whole}")
    if whole[1] <= now:
        raise InputError(
            f"tonight ended at {_clock(almanac, whole[1])}; choose until when it should play"
        )
    return _replaced(data, day, [table])


def _start(almanac: Almanac, day: date, words: str) -> datetime:
    found = parse_time(words).on(day, almanac.place)
    return found if isinstance(found, datetime) else datetime.max.replace(tzinfo=UTC)


def _last(almanac: Almanac, pieces: list[Piece], stretches: list[tuple[Rule, str, str]]) -> str:
    end = _clock(almanac, pieces[-1].stop)
    name = pieces[-1].rule
    return next((to for rule, _, to in stretches if rule.name == name), end)


def brighten(data: Mapping[str, Any], almanac: Almanac, now: datetime, level: float) -> list[Edit]:
    """Return the edits that have tonight's shows play at a brightness.

    Raises
    ------
    InputError
        Nothing plays tonight.
    """
    day = evening_of(almanac, now)
    tables = []
    for rule, begin, end in _stretches(almanac, day):
        table: dict[str, Any] = {"date": day.isoformat(), "show": rule.show.name}
        table |= {"name": rule.name} if rule.name != rule.show.stem else {}
        table |= {"from": begin, "to": end, "brightness": round(level, 3)}
        table |= {"in_quiet_hours": True} if rule.in_quiet_hours else {}
        tables.append(table)
    if not tables:
        raise InputError("nothing plays tonight; choose a show first")
    return _replaced(data, day, tables)


def darken(data: Mapping[str, Any], almanac: Almanac, now: datetime, dark: bool) -> list[Edit]:
    """Return the edits that make tonight dark; or leave tonight to the rules again."""
    day = evening_of(almanac, now)
    return _replaced(data, day, [{"date": day.isoformat()}] if dark else [])


def running(folder: Path, now: datetime) -> facts.Running | None:
    """Return what the evening's program says of itself; None if it never ran for this folder."""
    try:
        status = read_status(folder)
    except InputError:
        return None
    first, *rest = words(status, now)
    sentence = f"The evening's program: {first}." if status.alive(now) else f"{first}."
    return facts.Running(
        alive=status.alive(now),
        sentence=plain(sentence[:1].upper() + sentence[1:], 300),
        lines=[plain(line, 400) for line in rest],
        problems=[plain(problem, 400) for problem in status.problems][:20],
    )
