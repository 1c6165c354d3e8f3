"""Every evening: the almanac decides what plays, and the controller gets it.

Strategy: nothing is remembered but what was found good. What plays, and which of its frames,
follows from the wall clock alone, so a program that was killed comes back at the right frame.
Frames are paced by a clock that never jumps; when the wall clock and that clock disagree (it was
set, or the machine was suspended), what should play is worked out again. Files are read and shows
made ready elsewhere (`Keeper`); what is ready is replaced as a whole, between two frames.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from lumenmap.almanac.model import Piece
from lumenmap.almanac.tonight import played
from lumenmap.controller.e131.clock import Clock
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.jobs.evening.ready import Doing, Ready

#: How often it looks up from waiting (s); the wall clock was set if it is off by more than the
#: second figure.
LOOK_SECONDS = 1.0
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

        ``brightness`` dims frames that couldn't be rendered as dim as they are to be. At the end
        ``close`` returns whether nothing follows, so that the pixels go dark.
        """
        ...


class Lender(Protocol):
    """The house's wire (`lumenmap.jobs.wire.Wire`); ``asked`` is true if somebody wants it."""

    asked: bool

    def release(self) -> None:
        """Let the one who asks have it."""
        ...

    def take(self) -> bool:
        """Take it back if it is free."""
        ...


class Alone:
    """A wire that nobody asks for."""

    asked = False

    def release(self) -> None:
        """Do nothing."""

    def take(self) -> bool:
        """Have it."""
        return True


@dataclass(frozen=True, slots=True)
class Clocks:
    """The two clocks of an evening.

    Attributes
    ----------
    wall
        The time of day, UTC; somebody may set it.
    pace
        For pacing and waiting; it never jumps.
    """

    wall: Callable[[], datetime]
    pace: Clock


class Nightly:
    """Plays an almanac until it is stopped.

    Parameters
    ----------
    ready
        Returns what can be played now; another object whenever that has changed.
    player
        Gets what is due, and plays it.
    clocks
        The time of day, and the time that frames are paced by.
    report
        Gets every change of what it does.
    log
        Gets a sentence for each piece.
    wire
        The house's wire, held; it is lent when somebody asks.
    """

    def __init__(
        self,
        ready: Callable[[], Ready],
        player: Player,
        clocks: Clocks,
        *,
        report: Callable[[Doing], None] = lambda _: None,
        log: Callable[[str], None] = lambda _: None,
        wire: Lender | None = None,
    ) -> None:
        self._ready, self._player = ready, player
        self._wall, self._clock = clocks.wall, clocks.pace
        self._report, self._log, self._wire = report, log, wire or Alone()
        self._said = ""
        #: How often it looks up from waiting (s).
        self.look_seconds = LOOK_SECONDS

    def run(self, stop: Callable[[], bool]) -> None:
        """Wait and play until ``stop`` returns True."""
        while not stop():
            if self._wire.asked:
                self._lend(stop)
                continue
            ready, now = self._ready(), self._wall()
            piece = ready.almanac.at(now)
            frames = ready.frames(piece)
            if piece is not None and frames is not None:
                self._play(Doing("playing", ready, piece, frames), stop)
            else:
                coming = ready.almanac.next(now)
                until = piece.stop if piece else coming.start if coming else None
                self._tell(
                    Doing("nothing to play" if piece else "waiting", ready, piece, None, coming)
                )
                self._wait(ready, until, stop, 0.1 if piece else self.look_seconds)
        self._tell(Doing("stopped", self._ready()))

    def _play(self, doing: Doing, stop: Callable[[], bool]) -> None:
        piece, frames, ready = doing.piece, doing.frames, doing.ready
        assert piece is not None and frames is not None and ready is not None
        wall, now = self._wall(), self._clock.now()
        seconds = (piece.stop - wall).total_seconds()
        if seconds <= 0:
            return
        follows = ready.almanac.at(piece.stop)
        self._tell(_playing(ready, piece, frames))
        seen = ready

        def interrupted() -> bool:
            """Return whether something else must be played now, or the same in another way."""
            nonlocal seen
            if stop() or self._wire.asked or self._jumped(wall, now):
                return True
            if (newest := self._ready()) is not seen:
                if self._due(newest) != (piece, frames):
                    return True
                # What plays stays as it is; the rest of what is told may have changed.
                seen = newest
                self._tell(_playing(newest, piece, frames))
            return False

        def over() -> bool:
            """Return whether nothing follows, also if the clock was set or the files changed."""
            if self._wire.asked:
                return False
            newest = self._ready()
            if newest is not ready or self._jumped(wall, now):
                return stop() or self._due(newest)[1] is None
            return stop() or ready.frames(follows) is None

        self._player.play(
            frames,
            min(1.0, piece.brightness / frames.brightness),
            now - (wall - piece.begun).total_seconds(),
            seconds,
            interrupted,
            close=over,
        )

    def _due(self, ready: Ready) -> tuple[Piece | None, FrameSet | None]:
        """Return what plays now, by what is ready."""
        piece = ready.almanac.at(self._wall())
        return piece, ready.frames(piece)

    def _jumped(self, wall: datetime, now: float) -> bool:
        passed = self._clock.now() - now
        return abs((self._wall() - wall).total_seconds() - passed) > JUMP_SECONDS

    def _wait(
        self, ready: Ready, until: datetime | None, stop: Callable[[], bool], look: float
    ) -> None:
        """Wait until ``until``, every ``look`` s awake to notice a changed clock or files."""
        end = until or self._wall() + timedelta(days=1)
        wall, now = self._wall(), self._clock.now()
        while not (
            stop() or self._wire.asked or self._jumped(wall, now) or self._ready() is not ready
        ):
            left = (end - self._wall()).total_seconds()
            if left <= 0:
                return
            self._clock.sleep(min(look, left))

    def _lend(self, stop: Callable[[], bool]) -> None:
        """Let somebody else send, and take the wire back when it is free."""
        self._wire.release()
        self._tell(Doing("lent", self._ready()))
        while not stop() and not self._wire.take():
            self._clock.sleep(0.2)

    def _tell(self, doing: Doing) -> None:
        if doing.piece is not None and doing.ready is not None and doing.state == "playing":
            piece, zone = doing.piece, doing.ready.almanac.place.zone
            until = f"{piece.stop.astimezone(zone):%H:%M}"
            title = doing.ready.title(piece)
            said = f"playing {played(title, piece.brightness, piece.rule)} until {until}"
            if said != self._said:
                self._log(said)
            self._said = said
        self._report(doing)


def _playing(ready: Ready, piece: Piece, frames: FrameSet) -> Doing:
    coming = ready.almanac.at(piece.stop) or ready.almanac.next(piece.stop)
    return Doing("playing", ready, piece, frames, coming)


def due_frame(piece: Piece, moment: datetime, frames: FrameSet) -> int:
    """Return the frame that is due at a moment of a piece."""
    return math.floor((moment - piece.begun).total_seconds() * frames.fps) % len(frames.codes)
