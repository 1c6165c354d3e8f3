"""What a person chooses for several evenings: for each the choice that fits it, in as few tables.

Between the evenings of a span the hours may differ, and what plays; so each evening is asked by
itself, and evenings in a row that come to the same are one ``[[once]]``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from typing import Any

from lumenmap.almanac.choice import Choice, instead, stretches
from lumenmap.almanac.dated import Span, dated
from lumenmap.almanac.model import Almanac
from lumenmap.almanac.times import check_span, parse_time

#: Choices for each evening of a span.
Run = tuple[Span, list[Choice]]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What somebody wants of an evening; what is None is as it was planned.

    Attributes
    ----------
    show
        The show file's name.
    brightness
        0..1, more than 0.
    start, stop
        As in an almanac: ``sunset``, ``22:30``.
    quiet
        Whether it plays on through the quiet hours.
    name
        Why, in a word.
    """

    show: str | None = None
    brightness: float | None = None
    start: str | None = None
    stop: str | None = None
    quiet: bool | None = None
    name: str = ""


def fitted(almanac: Almanac, ruled: Almanac, day: date, wish: Wanted) -> list[Choice]:
    """Return the choices that make a wish so on a date; none if nothing plays that it is about.

    Parameters
    ----------
    ruled
        The almanac without choices of dates, whose hours a show has where an evening is dark.

    Raises
    ------
    InputError
        Not times, or no time between them.
    """
    known = stretches(almanac, day)
    if wish.show:
        known = [instead(almanac if known else ruled, day, wish.show)]
    made = []
    for one in known:
        start, stop = wish.start or one.start, wish.stop or one.stop
        check_span(parse_time(start), parse_time(stop))
        level = one.brightness if wish.brightness is None else wish.brightness
        quiet = one.quiet if wish.quiet is None else wish.quiet
        name = wish.name or one.name
        made.append(replace(one, brightness=level, start=start, stop=stop, quiet=quiet, name=name))
    return made


def in_runs(span: Span, choose: Callable[[date], list[Choice]]) -> list[Run]:
    """Return a span's evenings with choices, those in a row together that have the same."""
    found = []
    for choices, days in groupby(span, choose):
        row = list(days)
        if choices:
            found.append((Span(row[0], row[-1]), choices))
    return found


def about(once: Iterable[Any], span: Span) -> list[dict[str, Any]]:
    """Return the ``[[once]]`` tables whose dates lie in a span, or some of them."""
    found = []
    for table in once:
        own = dated(table.get("date"))
        if own is not None and own.without(span) != [own]:
            found.append(table)
    return found


def of_evening(once: Iterable[Any], day: date) -> list[dict[str, Any]]:
    """Return the ``[[once]]`` tables that a date's evening goes by, if there are any with dates."""
    found = [(len(own), t) for t in once if (own := dated(t.get("date"))) and day in own]
    single = [table for days, table in found if days == 1]
    return single or [table for _, table in found]


def is_dark(tables: Sequence[Mapping[str, Any]]) -> bool:
    """Return whether the tables that an evening goes by make it dark."""
    return bool(tables) and not any(table.get("show") for table in tables)


def reasons(tables: Iterable[Mapping[str, Any]]) -> str:
    """Return why somebody chose an evening so, as the tables that it goes by say."""
    names = (str(table["name"]).strip() for table in tables if table.get("name"))
    return ", ".join(filter(None, dict.fromkeys(names)))
