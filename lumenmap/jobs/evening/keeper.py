"""Looks at the files, and makes ready what plays now and next.

Strategy: one look at a time. The files as they stood when they were last good are one object,
`Ready`; it is replaced only when what follows from a change can be played, so a new show is never
waited for in the dark. Work on a show is given up as soon as the files change again.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from lumenmap.almanac.model import Almanac, Piece
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.jobs.evening.almanacs import Almanacs
from lumenmap.jobs.evening.good_shows import GoodShows, Obsolete
from lumenmap.jobs.evening.kept import Wish
from lumenmap.jobs.evening.ready import Ready, wish

#: A show that couldn't be made, or kept, though its files are the same, is tried again so often: at
#: first, and at most (a full disk may have been cleared).
RETRY, LONGEST_RETRY = timedelta(seconds=30), timedelta(minutes=10)
#: Shows of pieces that begin within so long are made ready.
AHEAD = timedelta(days=2)


class Keeper:
    """Keeps `ready` up to date.

    Parameters
    ----------
    wall
        The time of day, UTC.
    say
        Gets each problem once.
    """

    def __init__(
        self,
        almanacs: Almanacs,
        shows: GoodShows,
        *,
        wall: Callable[[], datetime],
        say: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._almanacs, self.shows, self._wall, self._say = almanacs, shows, wall, say
        self._told: set[str] = set()
        self._broken: set[str] = set()
        self._pause, self._retry_at = RETRY, self._wall() + RETRY
        never = datetime.min.replace(tzinfo=UTC)
        self._due: tuple[Almanac | None, datetime, datetime, list[Piece]] = None, never, never, []
        found = almanacs()
        self.ready = Ready(found, problems=tuple(filter(None, [almanacs.problem])))

    def obsolete(self) -> bool:
        """Return whether work on a show is of no more use, since files have changed."""
        return self._almanacs.changed() or self.shows.stale()

    def look(self) -> None:
        """Take up what has changed; makes shows ready if need be, which takes its time."""
        almanac, now = self._almanacs(), self._wall()
        pieces = self._pieces(almanac, now)
        self._retry(now)
        self.shows.others = _others(almanac)
        wishes = [wish(piece) for piece in pieces]
        frames = {w: known for w, known in self.ready.shows.items() if w in wishes}
        current = pieces[0] if pieces and pieces[0].start <= now else None
        if current is not None and (near := self._nearest(wish(current))) is not None:
            frames.setdefault(wish(current), near)
        try:
            if current is None or wish(current) in frames:  # an older version of it will do
                self._publish(almanac, frames)
            for one in dict.fromkeys(wishes):
                if self.shows.changed(*one):
                    self._make(one, frames)
                self._publish(almanac, frames)  # what plays now, before what has time
            for show, brightness, values in wishes:
                if brightness < 1:
                    self.shows.keep_bright(show, values)
        except Obsolete:
            return  # the next look sees what has changed
        self.shows.forget_all_but(wishes)

    def _pieces(self, almanac: Almanac, now: datetime) -> list[Piece]:
        """Return what plays now, if anything does, and what comes next; worked out when needed."""
        known, since, until, pieces = self._due
        if known is not almanac or not since <= now < until:
            pieces = _due(almanac, now)
            ends = [t for p in pieces[:1] for t in (p.start, p.stop) if t > now]
            self._due = almanac, now, min([*ends, now + AHEAD]), pieces
        return pieces

    def _nearest(self, one: Wish) -> FrameSet | None:
        """Return frames of the same show that are bright enough to be dimmed as they are sent."""
        show, brightness, values = one
        same = [
            frames
            for (s, _, v), frames in self.ready.shows.items()
            if (s, v) == (show, values) and frames.brightness >= brightness
        ]
        return min(same, key=lambda frames: frames.brightness, default=None)

    def _make(self, one: Wish, frames: dict[Wish, FrameSet]) -> None:
        """Make a show ready; where it was never ready, play meanwhile what is kept of it."""
        waited_for = not self.ready.shows and not self.shows.is_made(one)
        if waited_for and (kept := self.shows.at_once(one)) is not None:
            self.ready = Ready(self.ready.almanac, {one: kept}, self.ready.problems)
        found = self.shows.get(*one)
        if found is None:
            frames.pop(one, None)
        elif one not in frames or frames[one].sha256 != found.sha256:
            frames[one] = found

    def _retry(self, now: datetime) -> None:
        """Try again what failed though no file has changed, less and less often."""
        if not (self.shows.problems or self.shows.trouble):
            self._pause = RETRY
        elif now >= self._retry_at or now < self._retry_at - 2 * LONGEST_RETRY:
            self.shows.again()
            self._pause = min(2 * self._pause, LONGEST_RETRY)
        else:
            return
        self._retry_at = now + self._pause

    def _publish(self, almanac: Almanac, frames: dict[Wish, FrameSet]) -> None:
        """Replace `ready`, if anything is another than before."""
        names = {show.name for show, _, _ in frames} | {p.show.name for p in self._due[3]}
        broken = {name for name in self.shows.problems if name in names}
        problems = [self.shows.problems[name] for name in broken]
        for name in sorted((self._broken - broken) & names):
            self._say(f"{name}: all right again")
        self._broken = broken
        found = tuple(
            text for text in (self._almanacs.problem, *sorted(problems), self.shows.trouble) if text
        )
        for text in found:
            if text not in self._told and text != self._almanacs.problem:
                self._say(text)
        self._told = set(found)
        old = self.ready
        if (old.almanac, old.shows, old.problems) != (almanac, frames, found):
            self.ready = Ready(almanac, dict(frames), found)


def _due(almanac: Almanac, now: datetime) -> list[Piece]:
    """Return what plays now, if anything does, and what comes next."""
    pieces = [piece] if (piece := almanac.at(now)) else []
    moment = piece.stop if piece else now
    for _ in range(2):
        follows = almanac.at(moment) or almanac.next(moment)
        if follows is None or (pieces and follows.start - now > AHEAD):
            break
        pieces.append(follows)
        moment = follows.stop
    return pieces


def _others(almanac: Almanac) -> frozenset[Path]:
    """Return the files in the house's folder that no show uses: the almanac and the shows."""
    return frozenset([almanac.file, *(rule.show for rule in almanac.rules)])
