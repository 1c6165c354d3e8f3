"""`OutputSet`: files of a folder that are replaced all at once, by one writer at a time.

Strategy: the files are staged in a hidden folder; a plan with the checksum of each says that all of
it is there; only then are they moved in. A run killed before the plan leaves the old set; one
killed after it is finished by the next reader or writer, who has the folder's lock, so that every
stage it finds is a dead one. Which files lumenmap wrote stands in a record, itself one of the set;
only those are ever replaced or deleted.
"""

from __future__ import annotations

import contextlib
import secrets
from fnmatch import fnmatchcase
from pathlib import Path
from types import TracebackType

from lumenmap.core.errors import InputError
from lumenmap.core.files import check_replaceable, refused
from lumenmap.core.folders.locks import LOCK, FolderLock
from lumenmap.core.folders.stages import (
    BEGUN,
    Plan,
    digest,
    discard,
    move_in,
    new_stage,
    planned,
    read_record,
    stages,
    write_plan,
)
from lumenmap.core.notices import notice

_OF_OLD = ", or delete this one if lumenmap 0.1 made it, which kept no record"
#: A reader waits so long for a set that is being moved in (s).
_READER_SECONDS = 10.0


#: Endings of files that people name where a folder is expected.
_FILES = {
    *(".pdf", ".html", ".svg", ".csv", ".json", ".rgb", ".toml", ".txt"),
    *(".gif", ".png", ".jpg", ".jpeg", ".webp", ".apng", ".mp4", ".webm"),
}


class OutputSet:
    """A set of files in one folder that is replaced all at once.

    Use as a context manager; ``path(name)`` gives the place to write each file to. Nothing of the
    folder's previous content changes before the ``with`` block ends without an error.

    Parameters
    ----------
    folder
        Made if missing; files in it that are not in the set are left alone.
    drops
        Pattern of names. Files that match, that an earlier run wrote, that nobody changed since,
        and that are not in the set, are deleted.
    starting
        The files are for people to go on with: they must be new, and no record of them is kept.
    """

    def __init__(self, folder: Path | str, *, drops: str = "", starting: bool = False) -> None:
        self.folder = Path(folder)
        self._drops, self._starting = drops, starting

    def __enter__(self) -> OutputSet:
        """Take the folder's lock, waiting for other writers.

        Raises
        ------
        InputError
            A folder that can't be written, or a link; another writer for too long.
        """
        if self.folder.suffix.lower() in _FILES and not self.folder.exists():
            raise InputError(
                "is the name of a file, and several are written; expected a folder, such as "
                f"{self.folder.stem}",
                file=self.folder,
            )
        if self.folder.is_symlink():
            raise InputError("is a link; name the folder that it points to", file=self.folder)
        with contextlib.ExitStack() as opened:
            try:
                self.folder.mkdir(parents=True, exist_ok=True)
                opened.enter_context(FolderLock(self.folder))
                _heal(self.folder)
                self._written = {} if self._starting else read_record(self.folder)
                self._stage = new_stage(self.folder, secrets.token_hex(8))
            except (OSError, ValueError) as error:
                if isinstance(error, InputError):
                    raise
                raise refused(self.folder, error) from error
            self._opened = opened.pop_all()
        return self

    def path(self, name: str) -> Path:
        """Return where to write the file that will be ``folder/name``.

        Raises
        ------
        InputError
            Something is there that lumenmap didn't write.
        """
        target = self.folder / name
        if check_replaceable(target) and name not in self._written:
            old = "" if self._starting else _OF_OLD
            raise InputError(
                "is there already, and there is no record that lumenmap wrote it: choose another "
                f"folder{old}",
                file=target,
            )
        return self._stage / name

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        with self._opened:
            try:
                if kind is None:
                    self._commit()
            except OSError as failure:
                raise refused(self.folder, failure) from failure
            finally:
                if not planned(self._stage):  # once planned, the next one can finish it
                    discard(self._stage)
            if isinstance(error, OSError):
                raise refused(self.folder, error) from error

    def _commit(self) -> None:
        names = sorted(f.name for f in self._stage.iterdir() if f.name != BEGUN)
        for name in names:
            self.path(name)  # somebody may have put a file there meanwhile
        moving = {name: digest(self._stage / name) for name in names}
        dropping = {
            name: known
            for name, known in self._written.items()
            if name not in moving and self._drops and fnmatchcase(name, self._drops)
        }
        kept = {name: known for name, known in self._written.items() if name not in dropping}
        write_plan(
            self._stage, Plan(moving, dropping), None if self._starting else {**kept, **moving}
        )
        move_in(self._stage, trusted=True)


def finish_interrupted(folder: Path | str) -> None:
    """Complete a set that was killed while it moved in; clear away one killed before that.

    For readers: a writer that is at work is left alone, and nothing that fails here is an error.
    """
    folder = Path(folder)
    try:
        found = stages(folder)
        if not found and not (folder / LOCK).exists():
            return
        wait = _READER_SECONDS if any(map(planned, found)) else 0.0
        with FolderLock(folder, wait=wait):
            _heal(folder)
    except (OSError, InputError) as error:
        if any(map(planned, stages(folder))):
            notice(f"{folder}: a set of files there is only half in place: {error}")


def _heal(folder: Path) -> None:
    """Finish or clear away every stage in a folder whose lock is held."""
    for stage in stages(folder):
        if planned(stage):
            move_in(stage)
        else:
            discard(stage)
