"""Shows that were found good, kept for the evening on which one is not.

Strategy: a show is rendered into a folder named by the state of its files, checked, and only then
marked good and named current; what was current before is cleared away after that. So whenever the
program is killed, what is marked good is whole.
"""

from __future__ import annotations

import contextlib
import glob
import hashlib
import shutil
from collections.abc import Callable
from pathlib import Path

from lumenmap.almanac.values import Values
from lumenmap.controller.files.frameset import FrameSet, open_frames
from lumenmap.core.errors import CheckError, InputError, LumenmapError
from lumenmap.core.files import write_whole
from lumenmap.power.verdict.finding import DangerError
from lumenmap.show.shelf import palette_files

#: A show, its brightness, and its values.
Wish = tuple[Path, float, Values]


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
    """

    def __init__(
        self,
        folder: Path,
        render: Callable[[Path, Path, float, Values], None],
        check: Callable[[Path], list[str]],
    ) -> None:
        self._folder, self._render, self._check = folder, render, check
        # Each by its show, brightness and values.
        self._open: dict[Wish, tuple[str, Path, FrameSet]] = {}  # signature, folder, frames
        self._last: Path | None = None  # folder of what was asked for last
        self._asked: dict[Wish, str] = {}  # signature, good or not
        self.problems: dict[str, str] = {}

    def get(self, show: Path, brightness: float = 1.0, values: Values = ()) -> FrameSet | None:
        """Return a show's frames; its previous good ones if it can't be had; another show's; None.

        Its light is dimmed to ``brightness``, 0..1; that of other frames isn't. Why a show is not
        played as it stands is left in ``problems``.
        """
        wish = (show, brightness, values)
        signature = self._asked[wish] = self._signature(show, values)
        known = self._open.get(wish)
        if known is None or known[0] != signature:
            try:
                made = self._prepare(wish, signature)
                self.problems.pop(show.name, None)
            except Exception as error:  # effects are anybody's code, and the evening goes on
                spare = self._instead(wish)
                if spare is None:
                    outcome = "there is no other good show to play"
                elif spare.parent == self._place(wish):
                    outcome = "playing its previous good version"
                else:
                    outcome = "playing another good show"
                self.problems[show.name] = f"{error}; {outcome}"
                if spare is None:
                    return None
                made = spare
            self._open[wish] = known = signature, made, open_frames(made)
        _, self._last, frames = known
        return frames

    def has_good(self, show: Path) -> bool:
        """Return whether a good version of a show is kept from before, at any brightness."""
        name = self._place((show, 1.0, ())).name
        return any(self._kept(place) for place in self._folder.glob(f"{glob.escape(name)}*"))

    def changed(self, show: Path, brightness: float = 1.0, values: Values = ()) -> bool:
        """Return whether a show's files are others than when it was last asked for."""
        return self._asked.get((show, brightness, values)) != self._signature(show, values)

    def _signature(self, show: Path, values: Values) -> str:
        """Return what changes when any file in the show's folder does, or a value."""
        parts = [f"{name}={number!r}" for name, number in values]
        folder = show if show.is_dir() else show.parent
        with contextlib.suppress(OSError):
            own = palette_files().values()  # the user's own, which any show may name
            for file in (*sorted(folder.iterdir()), *own):
                if file.suffix in (".toml", ".rgb", ".json", ".png"):
                    stat = file.stat()
                    parts.append(f"{file.name} {stat.st_mtime_ns} {stat.st_size}")
        return hashlib.sha256("\n".join([str(show.exists()), *parts]).encode()).hexdigest()[:16]

    def _place(self, wish: Wish) -> Path:
        # Not by its values, which may be others every night.
        show, brightness, _ = wish
        key = hashlib.sha256(str(show.resolve()).encode()).hexdigest()[:12]
        dim = f"-{brightness:.4f}" if brightness < 1 else ""
        return self._folder / f"{show.stem}-{key}{dim}"

    def _prepare(self, wish: Wish, signature: str) -> Path:
        show, brightness, values = wish
        place = self._place(wish)
        made = place / signature
        if not show.exists():
            raise InputError("no such show", file=show)
        if not (made / "good").exists():
            made.mkdir(parents=True, exist_ok=True)
            self._render(show, made, brightness, values)
            if problems := self._check(made / "frames.json"):
                shutil.rmtree(made, ignore_errors=True)
                raise CheckError(f"{show.name}: refused: {problems[0]}")
            (made / "good").touch()
        open_frames(made)
        write_whole(place / "current", signature)
        for old in place.iterdir():
            if old.is_dir() and old != made:
                shutil.rmtree(old, ignore_errors=True)
        return made

    def _instead(self, wish: Wish) -> Path | None:
        """Return good frames to play instead: this show's own, the last one's, any."""
        places = [self._place(wish), self._place((wish[0], 1.0, ()))]
        if self._last is not None:
            places.append(self._last.parent)
        with contextlib.suppress(OSError):
            places += sorted(self._folder.iterdir())
        for place in dict.fromkeys(places):
            made = self._kept(place)
            if made is not None and self._still_good(made):
                return made
        return None

    def _kept(self, place: Path) -> Path | None:
        with contextlib.suppress(OSError, LumenmapError):
            made = place / (place / "current").read_text("utf-8").strip()
            if (made / "good").exists() and made.parent == place:
                open_frames(made)
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
        except DangerError:  # so is one that was edited into a dangerous house
            return True
        except LumenmapError:
            return False
