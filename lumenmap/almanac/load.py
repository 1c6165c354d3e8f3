"""almanac.toml to Almanac: days and times parsed, every mistake with its key."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from lumenmap.almanac.days import Days, parse_days
from lumenmap.almanac.file import AlmanacFile, OnceTable, PlaceTable, RuleTable
from lumenmap.almanac.model import Almanac
from lumenmap.almanac.rules import Dim, Rule
from lumenmap.almanac.sun import Place
from lumenmap.almanac.times import TimeOfDay, check_span, parse_time
from lumenmap.almanac.tonight import Titles
from lumenmap.almanac.values import Count, parse_count
from lumenmap.core.errors import InputError, Mistakes
from lumenmap.core.files import inside
from lumenmap.core.geography import check_sign, time_zone
from lumenmap.core.names import LONGEST
from lumenmap.core.plain import plain
from lumenmap.core.toml.reading import load_toml
from lumenmap.core.toml.tables import build

#: Two places nearer than this are one (degrees): there the sun sets within a minute.
NEAR = 0.25


def load_almanac(path: Path | str) -> Almanac:
    """Read an almanac file.

    Raises
    ------
    InputError
        Everything that is wrong in it, each mistake with its key and what is expected.
    """
    path = Path(path)
    return almanac_from(load_toml(path, "almanac"), path)


def almanac_from(data: dict[str, Any], path: Path) -> Almanac:
    """Return the almanac that a file's tables say; ``path`` is named in errors.

    Raises
    ------
    InputError
        As `load_almanac`.
    """

    def make(file: AlmanacFile) -> Almanac:
        reader = _Reader(path, file)
        made = _almanac(path, file, reader)
        reader.mistakes.raise_all()
        return made

    return build(AlmanacFile, data, path, {}, make)


def _almanac(path: Path, file: AlmanacFile, reader: _Reader) -> Almanac:
    top = file.almanac
    quiet = reader.span(file.quiet.from_, file.quiet.to, "quiet") if file.quiet else None
    dims = tuple(
        Dim(*reader.span(d.from_, d.to, f"dim {i + 1}"), d.brightness)
        for i, d in enumerate(file.dim)
    )
    rules = [reader.rule(i, rule) for i, rule in enumerate(file.rule)]
    once = [reader.once(i, o) for i, o in enumerate(file.once) if o.show is not None]
    dark = reader.days(top.dark, "almanac.dark")
    off: tuple[Days, ...] = ()
    for i, o in enumerate(file.once):
        if o.show is None:  # dark for the rules, but not for another [[once]] of these days
            off += reader.days(o.date, f"{_key('once', i, o)}, date")
    return Almanac(
        top.name or _title(path),
        path,
        reader.place(),
        reader.house,
        (*rules, *once),
        dark,
        quiet,
        dims,
        top.brightness,
        off,
        _elsewhere(top.place, reader.house) if top.place and reader.house else "",
    )


def _title(path: Path) -> str:
    """Return the file's name, or its folder's where the file is just "almanac"."""
    return plain(path.resolve().parent.name if path.stem == "almanac" else path.stem, LONGEST)


def _key(kind: str, i: int, table: RuleTable | OnceTable) -> str:
    """Return how an error names a table: by its title, or by its number, from 1."""
    return f'{kind} "{table.name}"' if table.name else f"{kind} {i + 1}"


class _Reader:
    """The context in which one file's tables are read."""

    def __init__(self, path: Path, file: AlmanacFile) -> None:
        self.path, self.top = path, file.almanac
        self.mistakes = Mistakes()
        self.house = self.inside(file.almanac.house, "almanac.house")
        self.mistakes.raise_all()  # the house is read before the rest
        self._parsed: dict[str, Days] = {}
        self._titles = Titles()

    def time(self, text: str, key: str) -> TimeOfDay:
        with self.mistakes.gathered(self.path, key):
            return parse_time(text)
        return parse_time("sunset")  # stands in, until all mistakes are found

    def span(self, start: str, stop: str, key: str) -> tuple[TimeOfDay, TimeOfDay]:
        found = self.time(start, f"{key}, from"), self.time(stop, f"{key}, to")
        with self.mistakes.gathered(self.path, f"{key}, to"):
            if not self.mistakes.found:  # a time that can't be read is told alone
                check_span(*found)
        return found

    def inside(self, name: str | None, key: str) -> Path | None:
        """Return a path that the file names, which must lie in the file's own folder."""
        if name is None:
            return None
        found = inside(self.path.parent, name)
        with self.mistakes.gathered(self.path, key):
            if found is None:
                raise InputError(
                    f'is "{name[:80]}", outside the almanac\'s folder; put it next to the almanac'
                )
        return found or self.path.parent / "outside"

    def place(self) -> Place:
        table, key, file = self.top.place, "almanac.place", self.path
        if table is None and self.house is not None:
            table, key, file = _house_place(self.house), "house.place", self.house
        if table is None:
            raise InputError(
                "is missing: write place = { latitude = …, longitude = …, timezone = "
                '"…" }, or house = "house.toml" that has one',
                file=self.path,
                key="almanac.place",
            )
        zone = "UTC"
        with self.mistakes.gathered(file, f"{key}.timezone"):
            zone = time_zone(table.timezone)
        for what in ("latitude", "longitude"):
            with self.mistakes.gathered(file, f"{key}.{what}"):
                check_sign(table.latitude, table.longitude, zone, what)
        return Place(table.latitude, table.longitude, ZoneInfo(zone))

    def days(self, words: str | list[str], key: str, *, several: bool = True) -> tuple[Days, ...]:
        listed = [words] if isinstance(words, str) else words
        out = []
        for i, text in enumerate(listed):
            where = key if isinstance(words, str) else f"{key} item {i + 1}"
            with self.mistakes.gathered(self.path, where):
                if text not in self._parsed:
                    self._parsed[text] = parse_days(text, self.top.country, several=several)
                out.append(self._parsed[text])
        return tuple(out)

    def rule(self, i: int, table: RuleTable) -> Rule:
        key = _key("rule", i, table)
        return self._make(
            table,
            key,
            self.days(table.on, f"{key}, on"),
            self.days(table.not_on, f"{key}, not_on"),
            (table.days_before, table.days_after),
            (0, table.priority),
        )

    def once(self, i: int, table: OnceTable) -> Rule:
        key = _key("once", i, table)
        days = self.days(table.date, f"{key}, date", several=False)
        return self._make(table, key, days, (), (0, 0), (1, 0))

    def _make(
        self,
        table: RuleTable | OnceTable,
        key: str,
        on: tuple[Days, ...],
        not_on: tuple[Days, ...],
        around: tuple[int, int],
        priority: tuple[int, int],
    ) -> Rule:
        show = self.inside(table.show or "", f"{key}, show")
        assert show is not None
        start, stop = self.span(table.from_, table.to, key)
        return Rule(
            table.name or self._titles[show],
            show,
            on,
            not_on,
            *around,
            start,
            stop,
            priority,
            table.brightness,
            table.in_quiet_hours,
            tuple(self.counts(table.values, f"{key}, values")),
        )

    def counts(self, values: Mapping[str, object], key: str) -> Iterator[tuple[str, Count]]:
        for name, written in values.items():
            with self.mistakes.gathered(self.path, f"{key}.{name}"):
                yield name, parse_count(written, self.top.country)


def _elsewhere(place: PlaceTable, house: Path) -> str:
    """Return a note if the house's own file has it elsewhere, by a minute of sunset or more."""
    try:
        other = _house_place(house)
    except InputError:  # told by what needs the house
        return ""
    if other is None or (
        place.timezone == other.timezone
        and abs(place.latitude - other.latitude) < NEAR
        and abs(place.longitude - other.longitude) < NEAR
    ):
        return ""
    here, there = (
        f"{p.latitude:g}, {p.longitude:g} ({plain(p.timezone, LONGEST)})" for p in (place, other)
    )
    return (
        f"the almanac's place is {here}, but {house.name} says that the house is at {there}; "
        "sunset is worked out for the almanac's. Leave place out of [almanac] to use the house's"
    )


def _house_place(house: Path) -> PlaceTable | None:
    """Read only the place of a house file."""
    data: Any = load_toml(house, "house").get("house")
    given = data.get("place") if isinstance(data, dict) else None
    if not isinstance(given, dict):
        return None
    try:
        return PlaceTable.model_validate(
            {k: float(v) if isinstance(v, int) else v for k, v in given.items()}
        )
    except ValueError:
        raise InputError(
            "expected latitude, longitude and timezone", file=house, key="house.place"
        ) from None
