"""Shows that were found good, ready for the evening on which one is not.

Strategy: a show is rendered, checked against its budgets, and only then kept and played. What plays
is held in memory, so that no disk that fills up, fails or goes away takes the light with it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from pathlib import Path

from lumenmap.almanac.values import Values
from lumenmap.controller.files.frameset import FrameSet, open_frames
from lumenmap.core.errors import CheckError, InputError, LumenmapError
from lumenmap.core.wording import then
from lumenmap.jobs.evening.kept import Kept, Wish
from lumenmap.jobs.evening.source_files import signature
from lumenmap.jobs.sending import kept_frames
from lumenmap.power.verdict.finding import DangerError

#: Frames up to so many bytes are held in memory; larger ones are read from the disk as they play.
MOST_IN_MEMORY = 256 << 20


class Obsolete(Exception):  # noqa: N818 (it isn't an error)
    """The work was given up, since the files have changed meanwhile."""


class DangerousError(CheckError):
    """The house's wiring is dangerous, as the process found that makes shows (`DangerError`)."""


class GoodShows:
    """Shows ready to play: each rendered, checked against its budgets, and kept.

    Parameters
    ----------
    folder
        Where they are kept, across restarts.
    render
        Writes a show's frames into a folder, at a brightness of 0..1 and with its values.
    check
        Says what is wrong with exported frames, in sentences.
    also
        Folders whose files any show may use.

    Attributes
    ----------
    problems
        Why a show isn't played as it stands, by the show's file name.
    others
        Files in the shows' folder that no show uses: the almanac, other shows.
    """

    def __init__(
        self,
        folder: Path,
        render: Callable[[Path, Path, float, Values], None],
        check: Callable[[Path], list[str]],
        also: Iterable[Path] = (),
    ) -> None:
        self._kept, self._render, self._check = Kept(folder), render, check
        self._also = tuple(also)
        # Each by its show, brightness and values.
        self._open: dict[Wish, tuple[str, Path, FrameSet]] = {}  # signature, folder, frames
        self._last: Path | None = None  # folder of what was asked for last
        self._asked: dict[Wish, str] = {}  # signature, good or not
        self._working: tuple[Wish, str] | None = None  # and its signature
        self._bright: dict[Wish, str] = {}  # signature of what `keep_bright` was asked for
        self.problems: dict[str, str] = {}
        self.others: frozenset[Path] = frozenset()

    @property
    def trouble(self) -> str:
        """Why nothing can be kept; empty if it can."""
        return self._kept.trouble

    def get(self, show: Path, brightness: float = 1.0, values: Values = ()) -> FrameSet | None:
        """Return a show's frames; its previous good ones if it can't be had; another show's; None.

        Its light is dimmed to ``brightness``, 0..1; that of other frames isn't. Why a show is not
        played as it stands is left in ``problems``.

        Raises
        ------
        Obsolete
            ``render`` or ``check`` gave up; nothing has changed.
        """
        wish = (show, brightness, values)
        now = self._signature(wish)
        known = self._open.get(wish)
        if known is None or known[0] != now or show.name in self.problems or self.trouble:
            self._working = wish, now
            try:
                made = self._good(wish, now)
            finally:
                self._working = None
            if made is None:
                self._asked[wish] = now
                return None
            same = known is not None and known[1].name == made.name
            frames = known[2] if known and same else kept_frames(made).held(MOST_IN_MEMORY)
            self._open[wish] = now, made, frames
        self._asked[wish] = now
        _, self._last, frames = self._open[wish]
        return frames

    def _good(self, wish: Wish, now: str) -> Path | None:
        """Return the folder of a show's frames, or of others to play instead."""
        try:
            made = self._prepare(wish, now)
        except Obsolete:
            raise
        except Exception as error:  # effects are anybody's code, and the evening goes on
            spare = self._instead(wish)
            if spare is None:
                outcome = "there is no other good show to play"
            elif self._kept.is_of(spare, wish):
                outcome = "playing its previous good version"
            else:
                outcome = "playing another good show"
            self.problems[wish[0].name] = then(_of(wish[0], error), outcome)
            return spare
        self.problems.pop(wish[0].name, None)
        return made

    def keep_bright(self, show: Path, values: Values = ()) -> None:
        """Keep a show at full brightness too, for an evening that gets brighter while it is broken.

        Frames can be dimmed as they are sent, but not brightened. Raises as `get`.
        """
        wish = (show, 1.0, values)
        now = self._signature(wish)
        if self.trouble or show.name in self.problems or self._bright.get(wish) == now:
            return
        self._bright[wish], self._working = now, (wish, now)
        try:
            if self._kept.find(wish, now) is None:
                self._prepare(wish, now)
        except Obsolete:
            del self._bright[wish]
            raise
        except Exception:  # effects are anybody's code; `get` tells of it
            return
        finally:
            self._working = None

    def at_once(self, wish: Wish) -> FrameSet | None:
        """Return frames of a show that are kept and still good, without rendering any."""
        for made in self._kept.versions(wish):
            if self._still_good(made):
                self._last = made
                return kept_frames(made).held(MOST_IN_MEMORY)
        return None

    def has_good(self, show: Path) -> bool:
        """Return whether a good version of a show is kept from before, at any brightness."""
        name = self._kept.place((show, 1.0, ()))
        return any(self._kept.newest(n) for n in self._kept.names() if n.startswith(name))

    def changed(self, show: Path, brightness: float = 1.0, values: Values = ()) -> bool:
        """Return whether a show's files are others than when it was last asked for."""
        wish = (show, brightness, values)
        return self._asked.get(wish) != self._signature(wish)

    def stale(self) -> bool:
        """Return whether the files of the show that is being made have changed since it began."""
        working = self._working  # of another thread's
        return working is not None and self._signature(working[0]) != working[1]

    def is_made(self, wish: Wish) -> bool:
        """Return whether a show is kept as its files are now, so that nothing need be rendered."""
        return self._kept.find(wish, self._signature(wish)) is not None

    def again(self) -> None:
        """Have what couldn't be kept, or read, tried again when it is next asked for."""
        for wish in [w for w in self._asked if self.trouble or w[0].name in self.problems]:
            del self._asked[wish]

    def forget_all_but(self, wishes: Collection[Wish]) -> None:
        """Let go of shows that aren't wanted now; they stay on the disk.

        Wanted again, they count as changed, so that `get` is asked for them.
        """
        for known in (self._open, self._asked):
            for wish in [w for w in known if w not in wishes]:
                del known[wish]

    def folder_of(self, frames: FrameSet) -> Path | None:
        """Return where frames that it gave are kept."""
        return next((made for _, made, known in self._open.values() if known is frames), None)

    def close(self) -> None:
        """Clear away what isn't kept across restarts."""
        self._kept.close()

    def _signature(self, wish: Wish) -> str:
        return signature(wish[0], self._also, self.others, wish[2])

    def _prepare(self, wish: Wish, now: str) -> Path:
        show, brightness, values = wish
        if not show.exists():
            raise InputError("no such show", file=show)

        def make(folder: Path) -> None:
            self._render(show, folder, brightness, values)
            if problems := self._check(folder / "frames.json"):
                raise CheckError(f"{show.name}: refused: {problems[0]}")

        made = self._kept.find(wish, now)
        made = self._kept.make(wish, now, make) if made is None else self._kept.bring_home(made)
        open_frames(made)
        self._kept.name_current(made)
        return made

    def _instead(self, wish: Wish) -> Path | None:
        """Return good frames to play instead: this show's own, the last one's, any."""
        last = [self._last.parent.name] if self._last is not None else []
        others = [self._kept.newest(n) for n in dict.fromkeys([*last, *self._kept.names()])]
        for made in dict.fromkeys([*self._kept.versions(wish), *others]):
            if made is not None and self._still_good(made):
                return made
        return None

    def _still_good(self, made: Path) -> bool:
        """Check kept frames again: the house's limits may have changed since.

        A house file that can't be read sets no new limits, and those they were counted by stand.
        """
        sidecar = made / "frames.json"
        try:
            return not self._check(sidecar)
        except InputError as error:
            return error.file is not None and Path(error.file) != sidecar
        except (DangerError, DangerousError):  # so is one that was edited into a dangerous house
            return True
        except LumenmapError:
            return False


def _of(show: Path, error: Exception) -> str:
    """Return what went wrong, with the show's name unless it names a file itself."""
    named = isinstance(error, (DangerError, DangerousError)) or getattr(error, "file", None)
    text = str(error)
    return text if named or text.startswith(show.name) else f"{show.name}: {text}"
