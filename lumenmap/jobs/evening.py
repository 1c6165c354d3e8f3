"""Every evening: the almanac says what plays, the controller hears it.

Strategy: nothing is remembered but shows that were found good. What plays, and which of its frames,
follows from the wall clock alone, so a program that was killed comes back to the right frame.
Frames are paced by a clock that never jumps; when the wall clock and it part (it was set, or the
machine was suspended), the playing is looked up anew.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Protocol

from lumenmap.almanac.load import load_almanac
from lumenmap.almanac.model import Almanac, Piece
from lumenmap.almanac.year import row
from lumenmap.controller.e131.clock import Clock
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.core.files import refused, write_whole
from lumenmap.core.locks import FolderLock
from lumenmap.core.notices import notice
from lumenmap.jobs.good_shows import GoodShows

#: The wall clock is looked at so often while nothing plays (s); it was set if it is off by more.
LOOK_SECONDS = 60.0
JUMP_SECONDS = 0.5


class Player(Protocol):
    """Plays frames in a loop; a test puts its own in."""

    def play(
        self,
        frames: FrameSet,
        brightness: float,
        begun: float,
        seconds: float,
        stop: Callable[[], bool],
        *,
        close: Callable[[], bool],
    ) -> None:
        """Play for so many seconds, or until ``stop``; frame 0 was due when the clock was begun.

        At the end ``close`` says whether nothing follows, so that it must go dark.
        """
        ...


class Almanacs:
    """The almanac as its file stands now; the last good one while the file is wrong."""

    def __init__(self, path: Path, say: Callable[[str], None] = lambda _: None) -> None:
        self._path, self._say = path, say
        self._stamp = self._look()
        self._good = load_almanac(path)

    def _look(self) -> tuple[int, int]:
        try:
            stat = self._path.stat()
        except OSError:
            return (0, 0)
        return (stat.st_mtime_ns, stat.st_size)

    def __call__(self) -> Almanac:
        """Return it, read again if the file has changed."""
        if (stamp := self._look()) != self._stamp:
            self._stamp = stamp
            try:
                self._good = load_almanac(self._path)
            except LumenmapError as error:
                self._say(f"{error}; going on with the almanac as it was")
        return self._good


class Nightly:
    """Plays an almanac until told to stop.

    Parameters
    ----------
    almanac
        Gives the almanac as it stands now; asked again when the clock was set or a piece ended,
        and at each look while waiting.
    wall
        The time of day, UTC.
    clock
        For pacing and waiting.
    status
        Told of each change of state, as a table for JSON.
    say
        Told in words.
    """

    def __init__(
        self,
        almanac: Callable[[], Almanac],
        shows: GoodShows,
        player: Player,
        *,
        wall: Callable[[], datetime],
        clock: Clock,
        status: Callable[[dict[str, Any]], None] = lambda _: None,
        say: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._load, self._shows, self._player = almanac, shows, player
        self._wall, self._clock, self._status, self._say = wall, clock, status, say
        self._told: dict[str, str] = {}

    def run(self, stop: Callable[[], bool]) -> None:
        """Wait and play until ``stop`` says so."""
        while not stop():
            almanac = self._load()
            now = self._wall()
            piece = almanac.at(now)
            if piece is None:
                coming = almanac.next(now)
                self._report("waiting", almanac, None, coming)
                self._wait(coming.start if coming else None, stop, almanac, coming)
            else:
                self._play(almanac, piece, stop)
        self._report("stopped", self._load(), None, None)

    def _play(self, almanac: Almanac, piece: Piece, stop: Callable[[], bool]) -> None:
        frames = self._shows.get(piece.show)
        self._tell_problems()
        if frames is None:
            self._report("nothing to play", almanac, piece, None)
            retry = self._wall() + timedelta(seconds=LOOK_SECONDS)
            self._wait(min(piece.stop, retry), stop, almanac)
            return
        wall, now = self._wall(), self._clock.now()
        seconds = (piece.stop - wall).total_seconds()
        if seconds <= 0:
            return
        follows = almanac.at(piece.stop)

        def over() -> bool:
            """Return whether nothing follows, also if the clock was set meanwhile."""
            after = self._load().at(self._wall()) if self._jumped(wall, now) else follows
            return stop() or after is None

        self._say(
            f"playing {piece.show.name} ({piece.rule}) until "
            f"{piece.stop.astimezone(almanac.place.zone):%H:%M}"
        )
        self._report("playing", almanac, piece, follows or almanac.next(piece.stop))
        self._player.play(
            frames,
            piece.brightness,
            now - (wall - piece.begun).total_seconds(),
            seconds,
            lambda: stop() or self._jumped(wall, now),
            close=over,
        )

    def _jumped(self, wall: datetime, now: float) -> bool:
        passed = self._clock.now() - now
        return abs((self._wall() - wall).total_seconds() - passed) > JUMP_SECONDS

    def _wait(
        self,
        until: datetime | None,
        stop: Callable[[], bool],
        almanac: Almanac,
        coming: Piece | None = None,
    ) -> None:
        """Wait for a moment, in looks short enough to notice a clock or an almanac that changed.

        What comes is made ready now and whenever its files change, so that it begins in time.
        """
        end = until or self._wall() + timedelta(days=1)
        wall, now = self._wall(), self._clock.now()
        while not stop() and not self._jumped(wall, now) and self._load() is almanac:
            if coming is not None and self._shows.changed(coming.show):
                self._shows.get(coming.show)
                self._tell_problems()
                self._report("waiting", almanac, None, coming)  # with the problems found
            left = (end - self._wall()).total_seconds()
            if left <= 0:
                return
            self._clock.sleep(min(LOOK_SECONDS, left))

    def _tell_problems(self) -> None:
        for show, problem in self._shows.problems.items():
            if self._told.get(show) != problem:
                self._say(problem)
        self._told = dict(self._shows.problems)

    def _report(
        self, state: str, almanac: Almanac, piece: Piece | None, coming: Piece | None
    ) -> None:
        self._status(
            {
                "state": state,
                "almanac": str(almanac.file),
                "updated": self._wall().isoformat(timespec="seconds"),
                "playing": row(almanac, piece) if piece else None,
                "next": row(almanac, coming) if coming else None,
                "problems": sorted(self._shows.problems.values()),
            }
        )


def due_frame(piece: Piece, moment: datetime, frames: FrameSet) -> int:
    """Return the frame that is due at a moment of a piece."""
    return math.floor((moment - piece.begun).total_seconds() * frames.fps) % len(frames.codes)


def tell_status(path: Path, status: dict[str, Any]) -> None:
    """Write the status file, whole; where it can't be written, tell that once, and play on."""
    try:
        write_whole(path, json.dumps(status, indent=2) + "\n")
    except InputError as error:
        notice(f"{error}; playing goes on without it")


def open_state(folder: Path) -> FolderLock:
    """Make the folder where an evening's state is kept; return its lock, which is taken.

    Raises
    ------
    InputError
        It can't be made, is a link, or another evening is played from it: two that send to the same
        controller would make it flicker.
    """
    if folder.is_symlink():
        raise InputError("is a link; name the folder that it points to", file=folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise refused(folder, error) from error
    return FolderLock(folder, wait=0, what="plays from this folder").__enter__()
