"""Shows that were found good, kept for the evening on which one is not.

Strategy: a show is rendered into a folder named by the state of its files, checked, and only then
marked good and named current; what was current before is cleared away after that. So whenever the
program is killed, what is marked good is whole.
"""

from __future__ import annotations

import contextlib
import hashlib
import shutil
from collections.abc import Callable
from pathlib import Path

from lumenmap.controller.frameset import FrameSet, open_frames
from lumenmap.core.errors import CheckError, InputError, LumenmapError
from lumenmap.core.files import write_whole


class GoodShows:
    """Shows ready to play: each rendered, checked against its budgets, and kept.

    Parameters
    ----------
    folder
        Where they are kept, across restarts.
    render
        Writes a show's frames into a folder.
    check
        Says what is wrong with exported frames, in sentences.
    """

    def __init__(
        self,
        folder: Path,
        render: Callable[[Path, Path], None],
        check: Callable[[Path], list[str]],
    ) -> None:
        self._folder, self._render, self._check = folder, render, check
        self._open: dict[Path, tuple[str, FrameSet]] = {}
        self._last: FrameSet | None = None
        self.problems: dict[str, str] = {}

    def get(self, show: Path) -> FrameSet | None:
        """Return a show's frames; its previous good ones if it can't be had; another show's; None.

        Why a show is not played as it stands is left in ``problems``.
        """
        signature = self._signature(show)
        known = self._open.get(show)
        if known is None or known[0] != signature:
            try:
                frames = self._prepare(show, signature)
                self.problems.pop(show.name, None)
            except Exception as error:  # effects are anybody's code, and the evening goes on
                kept = known[1] if known else self._previous(show)
                spare = kept or self._last or self._any()
                instead = "its previous good version" if kept else "another good show"
                told = f"playing {instead}" if spare else "nothing good to play instead"
                self.problems[show.name] = f"{error}; {told}"
                if spare is None:
                    return None
                frames = spare
            self._open[show] = (signature, frames)
        self._last = self._open[show][1]
        return self._last

    def _signature(self, show: Path) -> str:
        """Return what changes when any file in the show's folder does."""
        parts = []
        folder = show if show.is_dir() else show.parent
        with contextlib.suppress(OSError):
            for file in sorted(folder.iterdir()):
                if file.suffix in (".toml", ".rgb", ".json", ".png"):
                    stat = file.stat()
                    parts.append(f"{file.name} {stat.st_mtime_ns} {stat.st_size}")
        return hashlib.sha256("\n".join([str(show.exists()), *parts]).encode()).hexdigest()[:16]

    def _place(self, show: Path) -> Path:
        key = hashlib.sha256(str(show.resolve()).encode()).hexdigest()[:12]
        return self._folder / f"{show.stem}-{key}"

    def _prepare(self, show: Path, signature: str) -> FrameSet:
        place = self._place(show)
        made = place / signature
        if not show.exists():
            raise InputError("no such show", file=show)
        if not (made / "good").exists():
            made.mkdir(parents=True, exist_ok=True)
            self._render(show, made)
            if problems := self._check(made / "frames.json"):
                shutil.rmtree(made, ignore_errors=True)
                raise CheckError(f"{show.name}: refused, it breaks its budget: {problems[0]}")
            (made / "good").touch()
        frames = open_frames(made)
        write_whole(place / "current", signature)
        for old in place.iterdir():
            if old.is_dir() and old != made:
                shutil.rmtree(old, ignore_errors=True)
        return frames

    def _previous(self, show: Path) -> FrameSet | None:
        return self._kept(self._place(show))

    def _any(self) -> FrameSet | None:
        with contextlib.suppress(OSError):
            for place in sorted(self._folder.iterdir()):
                if (frames := self._kept(place)) is not None:
                    return frames
        return None

    def _kept(self, place: Path) -> FrameSet | None:
        with contextlib.suppress(OSError, LumenmapError):
            made = place / (place / "current").read_text().strip()
            if (made / "good").exists() and made.parent == place:
                return open_frames(made)
        return None
