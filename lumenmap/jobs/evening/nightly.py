"""Every evening: the almanac decides what plays, and the controller gets it.

Strategy: nothing is remembered but shows that were found good. What plays, and which of its frames,
follows from the wall clock alone, so a program that was killed comes back at the right frame.
Frames are paced by a clock that never jumps; when the wall clock and that clock disagree (it was
set, or the machine was suspended), what should play is worked out again.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Protocol

from lumenmap.almanac.load import load_almanac
from lumenmap.almanac.model import Almanac, Piece
from lumenmap.almanac.values import Values
from lumenmap.almanac.year import row
from lumenmap.controller.e131.clock import Clock
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.core.files import refused, write_whole
from lumenmap.core.folders.locks import FolderLock
from lumenmap.core.notices import notice
from lumenmap.jobs.evening.good_shows import GoodShows

#: The wall clock is read this often while nothing plays (s); it was set if it is off by more.
LOOK_SECONDS = 60.0
JUMP_SECONDS = 0.5


class Player(Protocol):
    """Plays frames in a loop; tests have their own."""

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

        ``brightness`` dims frames that couldn't be rendered as dim as they are to be.

        At the end ``close`` returns whether nothing follows, so that the pixels go dark.
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
                self._say(f"{error}; the previous almanac stays in use")
        return self._good


@dataclass(frozen=True, slots=True)
class Reports:
    """Where an evening reports to: ``status`` takes a table for JSON, ``log`` a sentence."""

    status: Callable[[dict[str, Any]], None] = lambda _: None
    log: Callable[[str], None] = lambda _: None


class Nightly:
    """Plays an almanac until it is stopped.

    Parameters
    ----------
    almanac
        Returns the almanac as it is now; called again when the clock was set, when a piece has
        ended, and every so often while waiting.
    wall
        The time of day, UTC.
    clock
        For pacing and waiting.
    reports
        Gets every change of state.
    """

    def __init__(
        self,
        almanac: Callable[[], Almanac],
        shows: GoodShows,
        player: Player,
        *,
        wall: Callable[[], datetime],
        clock: Clock,
        reports: Reports | None = None,
    ) -> None:
        self._load, self._shows, self._player = almanac, shows, player
        self._wall, self._clock, self._reports = wall, clock, reports or Reports()
        self._reported: dict[str, str] = {}
        self._flashing: list[str] = []

    def run(self, stop: Callable[[], bool]) -> None:
        """Wait and play until ``stop`` returns True."""
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
        follows = almanac.at(piece.stop)
        frames = self._shows.get(*_wish(piece))
        if follows is not None:  # ready too, so that it takes over without a gap
            self._shows.get(*_wish(follows))
        self._report_problems()
        if frames is None:
            self._report("nothing to play", almanac, piece, None)
            retry = self._wall() + timedelta(seconds=LOOK_SECONDS)
            self._wait(min(piece.stop, retry), stop, almanac)
            return
        wall, now = self._wall(), self._clock.now()
        seconds = (piece.stop - wall).total_seconds()
        if seconds <= 0:
            return

        def over() -> bool:
            """Return whether nothing follows, also if the clock was set meanwhile."""
            after = self._load().at(self._wall()) if self._jumped(wall, now) else follows
            return stop() or after is None

        self._reports.log(
            f"playing {piece.show.name} ({piece.rule}) until "
            f"{piece.stop.astimezone(almanac.place.zone):%H:%M}"
        )
        self._flashing = frames.meta.get("flashing") or []
        self._report("playing", almanac, piece, follows or almanac.next(piece.stop))
        self._player.play(
            frames,
            min(1.0, piece.brightness / frames.brightness),
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
        """Wait until ``until``, often enough awake to notice a changed clock or almanac.

        The next show is rendered now and whenever its files change, so that it starts on time.
        """
        end = until or self._wall() + timedelta(days=1)
        wall, now = self._wall(), self._clock.now()
        while not stop() and not self._jumped(wall, now) and self._load() is almanac:
            if coming is not None and self._shows.changed(*_wish(coming)):
                self._shows.get(*_wish(coming))
                self._report_problems()
                self._report("waiting", almanac, None, coming)  # with the problems found
            left = (end - self._wall()).total_seconds()
            if left <= 0:
                return
            self._clock.sleep(min(LOOK_SECONDS, left))

    def _report_problems(self) -> None:
        for show, problem in self._shows.problems.items():
            if self._reported.get(show) != problem:
                self._reports.log(problem)
        self._reported = dict(self._shows.problems)

    def _report(
        self, state: str, almanac: Almanac, piece: Piece | None, coming: Piece | None
    ) -> None:
        self._reports.status(
            {
                "state": state,
                "almanac": str(almanac.file),
                "updated": self._wall().isoformat(timespec="seconds"),
                "playing": row(almanac, piece) if piece else None,
                "next": row(almanac, coming) if coming else None,
                "flashing": self._flashing if state == "playing" else [],
                "problems": sorted(self._shows.problems.values()),
            }
        )


def _wish(piece: Piece) -> tuple[Path, float, Values]:
    return piece.show, piece.brightness, piece.values


def due_frame(piece: Piece, moment: datetime, frames: FrameSet) -> int:
    """Return the frame that is due at a moment of a piece."""
    return math.floor((moment - piece.begun).total_seconds() * frames.fps) % len(frames.codes)


def write_status(path: Path, status: dict[str, Any]) -> None:
    """Write the status file; if that fails, say so once and play on."""
    try:
        write_whole(path, json.dumps(status, indent=2) + "\n")
    except InputError as error:
        notice(f"{error}; playing continues without it")


def open_state(folder: Path) -> FolderLock:
    """Make the folder where an evening's state is kept; return its lock, which is taken.

    Raises
    ------
    InputError
        It can't be made, is a link, or another evening plays from it: two that send to the same
        controller would make it flicker.
    """
    if folder.is_symlink():
        raise InputError("is a link; name the folder that it points to", file=folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise refused(folder, error) from error
    return FolderLock(folder, wait=0, what="plays from this folder").__enter__()
