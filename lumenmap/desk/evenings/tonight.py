"""Tonight in a sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from lumenmap.almanac.choice import brightest, clock, tonight_date
from lumenmap.almanac.dated import dated
from lumenmap.almanac.model import Almanac, Piece
from lumenmap.almanac.several import is_dark, of_evening, reasons
from lumenmap.almanac.times import wall_clocks
from lumenmap.core.plain import plain
from lumenmap.desk.evenings.hours import hours_of, hours_words
from lumenmap.desk.evenings.words import percent, when
from lumenmap.desk.wire import evening_facts


def tonight(
    almanac: Almanac, now: datetime, titles: Mapping[str, str], once: list[Any]
) -> evening_facts.Tonight:
    """Return the evening as it stands.

    Parameters
    ----------
    titles
        Of the show files, by name.
    once
        The almanac file's ``[[once]]`` tables.
    """
    day = tonight_date(almanac, now)
    pieces = almanac.evening(day)[0]
    own = of_evening(once, day)
    dark = is_dark(own)
    hours = hours_of(almanac)
    return evening_facts.Tonight(
        file=almanac.file.name,
        date=day.isoformat(),
        sentence=_dark(own, day) if dark else _sentence(almanac, pieces, now, titles),
        pieces=[piece(almanac, p, now, titles) for p in pieces],
        dark=dark,
        brightness=brightest(almanac, day),
        changed=bool(own),
        can_undo=False,
        undoes="",
        problem="",
        hours=hours,
        hours_sentence=hours_words(hours),
        running=None,
    )


def nothing(why: str, problem: str, running: evening_facts.Running | None) -> evening_facts.Tonight:
    """Return an evening without an almanac."""
    return evening_facts.Tonight(
        file="",
        date="",
        sentence=why,
        pieces=[],
        dark=False,
        brightness=1.0,
        changed=False,
        can_undo=False,
        undoes="",
        problem=problem,
        hours=None,
        hours_sentence="",
        running=running,
    )


def piece(
    almanac: Almanac, p: Piece, now: datetime, titles: Mapping[str, str]
) -> evening_facts.Piece:
    """Return a stretch of an evening as the page shows it."""
    start, stop = wall_clocks(p.start, p.stop, almanac.place.zone)
    return evening_facts.Piece(
        start=start,
        stop=stop,
        file=p.show.name,
        title=titles.get(p.show.name, p.show.stem),
        rule=p.rule,
        brightness=round(p.brightness, 4),
        on_now=p.start <= now < p.stop,
    )


def _dark(own: Sequence[Mapping[str, Any]], day: date) -> str:
    """Return that tonight is dark, since when and why: who chose it may have forgotten by now."""
    spans = {span for table in own if (span := dated(table.get("date"))) and len(span) > 1}
    chosen = f", chosen {when(max(spans, key=lambda s: s.last), day)}" if spans else ""
    why = plain(reasons(own), 200)
    return f"Dark tonight{chosen}{f': {why}' if why else ''}."


def _sentence(
    almanac: Almanac, pieces: list[Piece], now: datetime, titles: Mapping[str, str]
) -> str:
    """Return the evening for people."""
    if pieces:
        over = " It is over for tonight." if pieces[-1].stop <= now else ""
        return f"{played(almanac, pieces, titles)}.{over}"
    coming = almanac.next(now)
    if coming is None:
        return "Nothing plays tonight, or in the year to come."
    day = coming.start.astimezone(almanac.place.zone)
    title = titles.get(coming.show.name, coming.show.stem)
    return f"Nothing plays tonight. Next: {title} on {day:%A} {day.day} {day:%B}."


def played(almanac: Almanac, pieces: Sequence[Piece], titles: Mapping[str, str]) -> str:
    """Return what plays, for people: First Frost from 16:21 to 22:30, half as bright from 21:30."""
    parts: list[str] = []
    last: Piece | None = None
    for n, p in enumerate(pieces):
        if last and (last.show, last.stop) == (p.show, p.start):
            parts[-1] += f", {_compared(last.brightness, p.brightness)} from "
            parts[-1] += clock(almanac, p.start)
        else:
            run = [q for q in pieces[n:] if q.show == p.show]
            end = p.stop
            for q in run:
                end = q.stop if q.start <= end else end
            title = titles.get(p.show.name, p.show.stem)
            begin, over = wall_clocks(p.start, end, almanac.place.zone)
            text = f"{title} from {begin} to {over}"
            parts.append(text if p.brightness == 1 else f"{text} at {percent(p.brightness)}")
        last = p
    return "; then ".join(parts)


def _compared(before: float, after: float) -> str:
    if after == before / 2:
        return "half as bright"
    return f"at {percent(after)}"
