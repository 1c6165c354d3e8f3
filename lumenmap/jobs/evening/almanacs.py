"""The almanac as its file stands now; the last good one while the file is wrong.

The last good one is kept in the state folder, with the place that it was read with, so that it
outlives a restart, whatever has become of the almanac or of the house meanwhile.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from lumenmap.almanac.load import almanac_from, load_almanac
from lumenmap.almanac.model import Almanac
from lumenmap.almanac.tonight import missing
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.core.files import write_whole
from lumenmap.core.notices import notice
from lumenmap.core.regular import read_regular
from lumenmap.core.toml.reading import LARGEST, load_toml
from lumenmap.core.wording import then

KEPT = "almanac.json"
#: The key by which the kept one says what file it was read from.
_FILE = "file"
#: What was kept before that was said stands for the file that `lumenmap new` writes.
_USUAL = "almanac.toml"


class Almanacs:
    """Reads an almanac again whenever its file, or the house that gives its place, has changed.

    Parameters
    ----------
    kept
        The folder where the last good one is kept.
    say
        Gets a sentence when the file goes wrong, and when it is right again.

    Raises
    ------
    InputError
        The file is wrong, and no good one of its name is kept from before.
    """

    def __init__(
        self, path: Path, kept: Path | None = None, say: Callable[[str], None] = lambda _: None
    ) -> None:
        self._path, self._say = path, say
        self._kept = kept / KEPT if kept is not None else None
        self.problem = ""
        self._missing: list[str] = []
        self._house: Path | None = None
        self._stamp = self._look()
        try:
            self._good = load_almanac(path)
        except LumenmapError as error:
            self._good = self._from_before(error)
            self._wrong(error)
        else:
            self._tell_missing()
        self._house = self._good.house
        self._stamp = self._look()

    def _look(self) -> tuple[tuple[int, int], ...]:
        return tuple(_stamp(file) for file in (self._path, self._house) if file is not None)

    def changed(self) -> bool:
        """Return whether the file is another than when it was last read."""
        return self._look() != self._stamp

    def __call__(self) -> Almanac:
        """Return it, read again if the file has changed."""
        if (stamp := self._look()) != self._stamp:
            self._stamp = stamp
            try:
                self._good = load_almanac(self._path)
            except LumenmapError as error:
                self._wrong(error)
            else:
                if self.problem:
                    self._say(f"{self._path.name}: all right again")
                self.problem = ""
                self._house = self._good.house
                self._stamp = self._look() if self._house else stamp
                self._tell_missing()
                self.keep()
        return self._good

    def _tell_missing(self) -> None:
        """Say which shows of the year to come aren't there, not only on the evening itself."""
        today = self._good.today(datetime.now(UTC))
        found = missing(self._good, (today + timedelta(days=days) for days in range(366)))
        for text in found:
            if text not in self._missing:
                self._say(text)
        self._missing = found

    def _wrong(self, error: LumenmapError) -> None:
        problem = then(str(error), "the previous almanac stays in use")
        if problem != self.problem:
            self._say(problem)
        self.problem = problem

    def keep(self, folder: Path | None = None) -> None:
        """Keep what was read, in another folder from now on if given; failing stops nothing."""
        if folder is not None:
            self._kept = folder / KEPT
        if self._kept is None or self.problem:
            return
        place = self._good.place
        try:
            data = load_toml(self._path, "almanac") | {_FILE: self._path.name}
            data["almanac"]["place"] = {
                "latitude": place.latitude,
                "longitude": place.longitude,
                "timezone": place.zone.key,
            }
            write_whole(self._kept, json.dumps(data, default=_written) + "\n")
        except (LumenmapError, OSError) as error:
            notice(f"{error}; a restart will need a good almanac")

    def _from_before(self, error: LumenmapError) -> Almanac:
        if self._kept is None:
            raise error
        with contextlib.suppress(OSError, ValueError, LookupError, InputError):
            data: Any = json.loads(read_regular(self._kept, LARGEST))
            # A mistyped name, or a show's, doesn't play another almanac that was kept here.
            if data.pop(_FILE, _USUAL) == self._path.name:
                return almanac_from(data, self._path)
        raise error


def _stamp(file: Path) -> tuple[int, int]:
    try:
        stat = file.stat()
    except (OSError, ValueError):
        return (0, 0)
    return (stat.st_mtime_ns, stat.st_size)


def _written(value: Any) -> str:
    """Return a date or time of TOML in words."""
    return str(value.isoformat())
