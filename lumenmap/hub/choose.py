"""A hub's command, written into the almanac file, where the evening and the desk see it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lumenmap.almanac.choice import Choice, chosen, is_of, light_now, planned, tonight_date
from lumenmap.almanac.load import almanac_from
from lumenmap.almanac.model import Almanac
from lumenmap.almanac.several import of_evening
from lumenmap.core.errors import InputError, near
from lumenmap.core.extras import install
from lumenmap.core.files import write_whole
from lumenmap.core.regular import read_regular
from lumenmap.core.toml.reading import LARGEST, load_toml
from lumenmap.hub.messages import FULL, Command

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

#: A folder isn't searched for more shows.
_MOST_SHOWS = 200


def shows(almanac: Almanac) -> dict[str, str]:
    """Return the show files next to an almanac by their titles; two of one title by their names."""
    found: dict[str, str] = {}
    for file in sorted(almanac.file.parent.glob("*.toml"))[:_MOST_SHOWS]:
        try:
            table = load_toml(file).get("show")
        except InputError:
            continue
        if isinstance(table, dict):
            title = str(table.get("name") or file.stem)[:80]
            found[title if title not in found else file.name] = file.name
    return found


def choice_for(command: Command, almanac: Almanac, now: datetime) -> Choice | None:
    """Return what a command chooses for tonight; None is what the rules say.

    Raises
    ------
    InputError
        No such show, or none at all.
    """
    if command.state == "OFF" or command.brightness == 0:
        return Choice(None)
    show = _named(command.effect, almanac) if command.effect else None
    if almanac.at(now) is not None:
        playing = planned(almanac, now)
    elif (ruled := _without(almanac, now)).at(now) is not None:
        alone = not of_evening(_others(almanac, now), tonight_date(almanac, now))
        if alone and show is None and command.brightness is None:
            return None  # it was turned off: as the rules say
        playing = planned(ruled, now)
    else:
        first = show or next((rule.show.name for rule in almanac.rules), None)
        if first is None:
            raise InputError("the almanac names no show to light")
        playing = light_now(almanac, now, first)
    if command.brightness is not None:
        playing = replace(playing, brightness=command.brightness / FULL)
    return playing.playing(show) if show else playing


def _named(title: str, almanac: Almanac) -> str:
    known = shows(almanac)
    if title in known.values():
        return title
    if title not in known:
        raise InputError(f'no show "{title[:60]}"{near(title, known)}')
    return known[title]


def _without(almanac: Almanac, now: datetime) -> Almanac:
    """Return an almanac as it were without tonight's choice, or one for days around it."""
    day, data = tonight_date(almanac, now), load_toml(almanac.file, "almanac")
    once = [table for table in data.get("once", []) if not of_evening([table], day)]
    return almanac_from({**data, "once": once}, almanac.file)


def _others(almanac: Almanac, now: datetime) -> list[dict[str, Any]]:
    """Return what is chosen for other evenings than tonight alone."""
    once = load_toml(almanac.file, "almanac").get("once", [])
    return chosen(once, tonight_date(almanac, now), None)


def write_choice(file: Path, day: date, choice: Choice | None) -> None:
    """Write a choice into an almanac file; what a person wrote in it stays, comments too.

    Raises
    ------
    InputError
        The file can't be read or written, or wouldn't be an almanac any more.
    """
    try:
        import tomlkit
        from tomlkit.exceptions import TOMLKitError
    except ImportError:
        raise InputError(f"hubs need more libraries: {install('hub')}") from None
    try:
        document = tomlkit.parse(read_regular(file, LARGEST).decode("utf-8-sig"))
        once = document.unwrap().get("once", [])
        if not isinstance(once, list) or not all(isinstance(table, dict) for table in once):
            raise InputError("once isn't a list of tables, [[once]]", file=file)
        changed = _changed(document, day, choice)
        new = tomlkit.parse(changed).unwrap()
    except InputError:
        raise
    except (OSError, ValueError, TOMLKitError) as error:
        raise InputError(f"can't be changed: {error}", file=file) from None
    if new.get("once", []) != chosen(once, day, choice):
        raise InputError("once is written in a way that can't be changed here", file=file)
    almanac_from(new, file)
    write_whole(file, changed)


def _changed(document: TOMLDocument, day: date, choice: Choice | None) -> str:
    """Return a document's text with a choice among its ``[[once]]``, or its ``once = [{...}]``."""
    import tomlkit
    from tomlkit.items import Array

    tables = document.get("once", tomlkit.aot())
    for number in reversed(range(len(tables))):
        if is_of(tables[number], day):
            del tables[number]
    for table in chosen([], day, choice):
        item = tomlkit.inline_table() if isinstance(tables, Array) else tomlkit.table()
        item.update(table)
        tables.append(item)
    if "once" not in document and len(tables):
        document.append("once", tables)
    elif "once" in document and not len(tables):
        document.remove("once")
    return tomlkit.dumps(document)
