"""Hours of every evening in which all light is turned down, or out: said, and changed.

Strategy: tables that stay as they are aren't touched, so that the comments of the others go with
them: what differs lies between the first and the last that differ.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lumenmap.almanac.model import Almanac
from lumenmap.desk.evenings.words import percent, time_words
from lumenmap.desk.files.meaning import as_json
from lumenmap.desk.wire.asked import Edit, Insert, Remove, SetValue
from lumenmap.desk.wire.hours import DimHours, Hours, QuietHours


def hours_of(almanac: Almanac) -> Hours:
    """Return the hours that an almanac has."""
    quiet = almanac.quiet
    return Hours(
        dims=[
            DimHours(start=d.start.text, stop=d.stop.text, level=d.brightness) for d in almanac.dims
        ],
        quiet=QuietHours(start=quiet[0].text, stop=quiet[1].text) if quiet else None,
    )


def hours_words(hours: Hours) -> str:
    """Return hours in a sentence, such as "Every evening: half as bright from 21:30 to 23:00"."""
    said = [
        f"{'half as bright' if d.level == 0.5 else f'at {percent(d.level)}'} {_span(d)}"
        for d in hours.dims
    ]
    if hours.quiet:
        said.append(f"nothing plays {_span(hours.quiet)}")
    if not said:
        return "Every evening: as bright as the shows are, all the time."
    return f"Every evening: {'; '.join(said)}."


def _span(hours: DimHours | QuietHours) -> str:
    return f"from {time_words(hours.start)} to {time_words(hours.stop)}"


def hours_edits(data: Mapping[str, Any], now: Hours, wanted: Hours) -> list[Edit]:
    """Return the edits of an almanac's data that make its hours others."""
    edits = _dims(list(data.get("dim", ())), now.dims, wanted.dims)
    if wanted.quiet == now.quiet:
        return edits
    old = data.get("quiet")
    if wanted.quiet is None or old is None:
        new = _table(wanted.quiet) if wanted.quiet else None
        return [*edits, SetValue(path=["quiet"], old=as_json(old) if old else None, new=new)]
    return [*edits, *_changed(["quiet"], old, now.quiet, wanted.quiet)]


def _dims(tables: list[Any], now: list[DimHours], wanted: list[DimHours]) -> list[Edit]:
    first, shorter = 0, min(len(now), len(wanted))
    while first < shorter and now[first] == wanted[first]:
        first += 1
    last = 0
    while last < shorter - first and now[-1 - last] == wanted[-1 - last]:
        last += 1
    both = range(first, shorter - last)
    edits: list[Edit] = []
    for i in both:
        edits += _changed(["dim", i], tables[i], now[i], wanted[i])
    for i in reversed(range(both.stop, len(now) - last)):
        edits.append(Remove(path=["dim", i], old=as_json(tables[i])))
    for i in range(both.stop, len(wanted) - last):
        edits.append(Insert(path=["dim", i], new=_table(wanted[i])))
    return edits


def _table(hours: DimHours | QuietHours) -> dict[str, Any]:
    """Return hours as the file has them."""
    made: dict[str, Any] = {"from": hours.start, "to": hours.stop}
    return {**made, "brightness": hours.level} if isinstance(hours, DimHours) else made


def _changed(
    path: list[str | int],
    table: Mapping[str, Any],
    now: DimHours | QuietHours | None,
    wanted: DimHours | QuietHours,
) -> list[Edit]:
    """Return edits of the values that differ; the others stay as a person wrote them."""
    before = _table(now) if now else {}
    return [
        SetValue(path=[*path, key], old=as_json(table.get(key)), new=value)
        for key, value in _table(wanted).items()
        if before.get(key) != value
    ]
