"""Where made shows are kept: a folder for each, in it one for each version.

Strategy: a version is marked good and named current only when it is whole; what was current before
is cleared away after that. Where the folder for it can't be written, a spare one is used (in
memory, if the machine has such a folder), until it can.
"""

from __future__ import annotations

import contextlib
import glob
import hashlib
import shutil
import stat
from collections.abc import Callable
from pathlib import Path

from lumenmap.almanac.values import Values
from lumenmap.controller.files.frameset import open_frames
from lumenmap.core import system
from lumenmap.core.errors import LumenmapError, WriteError
from lumenmap.core.files import refused, write_whole

_GOOD, _CURRENT = "good", "current"
#: A show is kept at so many brightnesses; the oldest is cleared away.
_BRIGHTNESSES = 8

#: A show, its brightness of 0..1, and its values.
Wish = tuple[Path, float, Values]


class Kept:
    """Versions of shows on the disk.

    Attributes
    ----------
    trouble
        Why nothing can be kept in the folder for it; empty if all is well.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.trouble = ""
        found = [spare for spare in self._spares() if spare.is_dir() and _is_ours(spare)]
        self._spare: Path | None = found[0] if found else None  # one that was killed left it

    def place(self, wish: Wish) -> str:
        """Return the name of a show's folder."""
        show, brightness, _ = wish  # not by its values, which may be others every night
        key = hashlib.sha256(str(show.resolve()).encode()).hexdigest()[:12]
        dim = f"-{brightness:.4f}" if brightness < 1 else ""
        return f"{show.stem}-{key}{dim}"

    @property
    def _bases(self) -> list[Path]:
        return [self._folder, *([self._spare] if self._spare else [])]

    def _spares(self) -> list[Path]:
        """Return where a show may be kept instead: of this user and this folder alone."""
        key = hashlib.sha256(str(self._folder.resolve()).encode()).hexdigest()[:12]
        name = f"lumenmap-{system.user_number()}-{key}"
        return [base / name for base in system.spare_folders()]

    def is_of(self, made: Path, wish: Wish) -> bool:
        """Return whether a version is one of a show, at whatever brightness."""
        return made.parent.name.startswith(self.place((wish[0], 1.0, ())))

    def names(self) -> list[str]:
        """Return the folders of all shows that are kept."""
        found: list[str] = []
        for base in self._bases:
            with contextlib.suppress(OSError):
                found += sorted(place.name for place in base.iterdir())
        return found

    def find(self, wish: Wish, version: str) -> Path | None:
        """Return the folder of a version of a show, if it is kept, and whole.

        A power cut may have left files that are empty or cut off, and old cards forget.
        """
        name = self.place(wish)
        return next((b / name / version for b in self._bases if _whole(b / name / version)), None)

    def versions(self, wish: Wish) -> list[Path]:
        """Return the current versions of a show at all its brightnesses, the best one first.

        That is the last that was made; of one version at several brightnesses the one at that of
        the wish, then one that is brighter and can be dimmed.
        """
        name, bright = self.place(wish), self.place((wish[0], 1.0, ()))
        made = [self.newest(n) for n in dict.fromkeys(self.names()) if n.startswith(bright)]
        found = [version for version in made if version is not None]
        last = {v.name: max(_number(o) for o in found if o.name == v.name) for v in found}

        def rank(version: Path) -> tuple[int, bool, float]:
            _, dot, dim = version.parent.name.removeprefix(bright).partition("-")
            brightness = float(dim) if dot else 1.0
            darker = wish[1] - brightness if brightness < wish[1] else 0.0
            return -last[version.name], version.parent.name != name, darker

        return sorted(found, key=rank)

    def newest(self, name: str) -> Path | None:
        """Return a show's current version, wherever it is kept; the later one of two."""
        made = [_named(base / name) for base in self._bases]
        for version in sorted((m for m in made if m is not None), key=_number, reverse=True):
            if _whole(version):
                return version
        return None

    def make(self, wish: Wish, version: str, make: Callable[[Path], None]) -> Path:
        """Have a version made, in its folder or, if that can't be written, in the spare one.

        Raises
        ------
        OSError, WriteError
            Neither can be written.
        Exception
            As ``make``, which leaves nothing behind then.
        """
        number = self._number()
        try:
            made = _made(self._folder / self.place(wish) / version, make, number)
        except (OSError, WriteError) as error:
            why = refused(self._folder, error) if isinstance(error, OSError) else error
            told = f"{self._folder}: {getattr(why, 'message', why)}"
            self.trouble = f"{told}; shows are kept in memory until this is mended"
            for folder in self._spares():
                with contextlib.suppress(OSError, WriteError):
                    made = _made(folder / self.place(wish) / version, make, number)
                    self._spare = folder
                    return made
            raise
        self.trouble = ""
        return made

    def bring_home(self, made: Path) -> Path:
        """Copy a version from the spare folder to where it belongs, if that can be written now."""
        home = self._folder / made.parent.name / made.name
        if home == made:
            return made
        try:
            shutil.copytree(made, home, ignore=shutil.ignore_patterns(_GOOD), dirs_exist_ok=True)
            (home / _GOOD).write_bytes((made / _GOOD).read_bytes())
        except (OSError, shutil.Error):
            shutil.rmtree(home, ignore_errors=True)
            return made
        self.trouble = ""
        return home

    def name_current(self, made: Path) -> None:
        """Name a good version current, and clear away what was before."""
        place = made.parent
        try:
            if _named(place) != made:
                write_whole(place / _CURRENT, made.name)
            for old in place.iterdir():
                if old.is_dir() and old != made:
                    shutil.rmtree(old, ignore_errors=True)
            self._clear(place)
        except (OSError, WriteError) as error:  # it plays all the same
            self.trouble = f"{error}; a restart may not find {place.name}"

    def _number(self) -> int:
        """Return the next version's number; clocks are set, so times don't tell their order."""
        made = [_named(base / name) for base in self._bases for name in self.names()]
        return 1 + max((_number(version) for version in made if version is not None), default=0)

    def _clear(self, place: Path) -> None:
        """Clear away the oldest of the other brightnesses of a show, if there are too many."""
        show = place.name.split(".")[0].rpartition("-")[0] if "." in place.name else place.name
        dimmed = [
            other for other in place.parent.glob(f"{glob.escape(show)}-0.*") if other != place
        ]
        dimmed.sort(key=lambda other: other.stat().st_mtime, reverse=True)
        for old in dimmed[_BRIGHTNESSES:]:
            shutil.rmtree(old, ignore_errors=True)

    def close(self) -> None:
        """Clear the spare folder away, unless a restart needs it."""
        if self._spare is not None and not self.trouble:
            shutil.rmtree(self._spare, ignore_errors=True)


def _is_ours(folder: Path) -> bool:
    """Return whether a folder where others may write too is this user's, and no link."""
    try:
        found = folder.lstat()
    except OSError:
        return False
    return stat.S_ISDIR(found.st_mode) and found.st_uid == system.user_number()


def _whole(version: Path) -> bool:
    """Return whether a version is marked good, and its frames are those that were written."""
    with contextlib.suppress(OSError, LumenmapError):
        if (version / _GOOD).exists():
            open_frames(version)
            return True
    return False


def _number(made: Path) -> int:
    """Return the how-maniest version of all it was; 0 if it isn't known."""
    with contextlib.suppress(OSError, ValueError):
        return int((made / _GOOD).read_bytes() or b"0")
    return 0


def _made(folder: Path, make: Callable[[Path], None], number: int) -> Path:
    spare = folder.parent.parent
    if spare.name.startswith("lumenmap-"):
        spare.mkdir(mode=0o700, exist_ok=True)
        if not _is_ours(spare):
            raise OSError("somebody else's folder")
    shutil.rmtree(folder, ignore_errors=True)  # what isn't whole
    folder.mkdir(parents=True, exist_ok=True)
    try:
        make(folder)
        (folder / _GOOD).write_bytes(b"%d" % number)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return folder


def _named(place: Path) -> Path | None:
    """Return the version that is named current."""
    with contextlib.suppress(OSError, ValueError):
        made = place / (place / _CURRENT).read_text("utf-8").strip()
        return made if made.parent == place else None
    return None
