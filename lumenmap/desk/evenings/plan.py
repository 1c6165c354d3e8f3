"""What is wanted of some evenings, as edits of the almanac; nothing is written here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from lumenmap.almanac import several
from lumenmap.almanac.choice import Choice
from lumenmap.almanac.dated import Span, dated
from lumenmap.almanac.load import almanac_from
from lumenmap.almanac.model import Almanac
from lumenmap.core.errors import InputError
from lumenmap.desk.evenings.words import day_words, when
from lumenmap.desk.files.meaning import applied, as_json
from lumenmap.desk.wire.asked import Edit, Insert, Remove, SetValue
from lumenmap.desk.wire.days import FARTHEST, Wish

_LABELS = {
    "show": "Another show",
    "brightness": "Brightness",
    "dark": "Dark",
    "planned": "As planned",
}


@dataclass(frozen=True, slots=True)
class Plan:
    """A wish, and what it makes of the almanac.

    Attributes
    ----------
    span
        The days that were asked for.
    runs
        What is written for them.
    gone
        The ``[[once]]`` tables that were about some of them, as they were.
    before, after
        The almanac without it, and with it.
    once
        The ``[[once]]`` tables of that.
    """

    wish: Wish
    span: Span
    runs: list[several.Run]
    gone: list[dict[str, Any]]
    edits: list[Edit]
    label: str
    before: Almanac
    after: Almanac
    once: list[dict[str, Any]]


def plan(data: dict[str, Any], almanac: Almanac, wish: Wish, tonight: date) -> Plan:
    """Return what a wish makes of an almanac, whose file has this data.

    Raises
    ------
    InputError
        Days that are over or too far away, or a wish that can't be.
    """
    span = span_of(wish, tonight)
    undated = [table for table in data.get("once", ()) if dated(table.get("date")) is None]
    ruled = almanac_from({**data, "once": undated}, almanac.file)
    runs = _runs(almanac, ruled, span, wish)
    # Dimming leaves dark evenings dark; all else is about every evening of the span.
    freed = [run[0] for run in runs] if wish.what == "brightness" else [span]
    once = list(data.get("once", ()))
    gone = list({id(t): t for own in freed for t in several.about(once, own)}.values())
    if wish.what == "planned" and not gone:
        raise InputError(f"nothing else was chosen {when(span, tonight)}: it is as planned already")
    edits = edits_for(data, freed, runs)
    made = applied(data, edits)
    after = almanac_from(made, almanac.file)
    label = f"{_LABELS[wish.what]} {when(span, tonight)}"
    return Plan(wish, span, runs, gone, edits, label, almanac, after, made.get("once", []))


def span_of(wish: Wish, tonight: date) -> Span:
    """Return the days of a wish.

    Raises
    ------
    InputError
        They are over, too far away, or end before they begin.
    """
    if wish.last < wish.first:
        raise InputError(
            f"{day_words(wish.last, tonight)} is before {day_words(wish.first, tonight)}; "
            "choose the last evening after the first"
        )
    if wish.first < tonight:
        raise InputError(
            f"{day_words(wish.first, tonight)} is over; choose evenings from tonight on"
        )
    farthest = tonight + timedelta(days=FARTHEST)
    if wish.last > farthest:
        raise InputError(
            f"{wish.last.day} {wish.last:%B %Y} is more than {FARTHEST} days away; choose evenings "
            f"up to {farthest.day} {farthest:%B %Y}, or write them in the almanac's file"
        )
    return Span(wish.first, wish.last)


def _runs(almanac: Almanac, ruled: Almanac, span: Span, wish: Wish) -> list[several.Run]:
    if wish.what == "planned":
        return []
    if wish.what == "dark":
        return [(span, [Choice(None, name=wish.name)])]
    if wish.what == "show" and wish.file is None:
        raise InputError("choose a show")
    if wish.what == "brightness" and wish.level is None:
        raise InputError("choose how bright")
    show = wish.file if wish.what == "show" else None
    own = several.Wanted(show, wish.level, wish.start, wish.stop, wish.quiet, wish.name)
    runs = several.in_runs(span, lambda day: several.fitted(almanac, ruled, day, own))
    if not runs:
        raise InputError("nothing plays then; choose a show first")
    return runs


def edits_for(
    data: Mapping[str, Any],
    freed: Sequence[Span],
    runs: Sequence[several.Run],
    *,
    cut: bool = True,
) -> list[Edit]:
    """Return the edits that make runs all that the almanac says of the dates of some spans.

    Parameters
    ----------
    cut
        A table from date to date keeps those of its dates that aren't among them; else it stays
        whole, and what is said of a date alone comes before it.
    """
    once: list[Any] = list(data.get("once", ()))
    edits: list[Edit] = []
    for span in freed:
        for number in reversed(range(len(once))):
            own = dated(once[number].get("date"))
            if own is None or (left := own.without(span)) == [own] or not (cut or own == span):
                continue
            table = once[number]
            path: list[str | int] = ["once", number]
            if not left:
                edits.append(Remove(path=path, old=as_json(table)))
                del once[number]
                continue
            dates = [{**table, "date": part.text} for part in left]
            edits.append(SetValue(path=[*path, "date"], old=table["date"], new=dates[0]["date"]))
            edits += [Insert(path=["once", number + 1], new=as_json(t)) for t in dates[1:]]
            once[number : number + 1] = dates
    for span, choices in runs:
        for choice in choices:
            edits.append(Insert(path=["once", len(once)], new=choice.table(span)))
            once.append(choice.table(span))
    return edits
