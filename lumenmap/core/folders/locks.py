"""`FolderLock`: one writer at a time in a folder, by a lock that the operating system holds.

Such a lock ends with the process that took it, however it ends, and it holds between containers
that share a folder, where process numbers say nothing. Whoever has it deletes the lock file, so
that no folder is left with one; whoever got a lock on a deleted file takes a new one.
"""

from __future__ import annotations

import contextlib
import os
import time
from pathlib import Path
from types import TracebackType

from lumenmap.core import system
from lumenmap.core.errors import InputError
from lumenmap.core.notices import notice

#: The lock file; nothing is ever written to it, so a link in its place can do no harm.
LOCK = ".lumenmap-lock"
#: Somebody who writes for longer isn't waited for (s).
WAIT_SECONDS = 600.0
_LOOK_SECONDS = 0.05
#: A shorter wait isn't worth a word (s).
_QUIET_SECONDS = 0.3


def is_held(folder: Path) -> bool:
    """Return whether somebody has the lock of a folder now."""
    try:
        fd = system.open_unlinked(folder / LOCK, os.O_RDWR)
    except OSError:
        return False
    try:
        return not system.lock(fd)
    except OSError:  # the file system has no locks
        return False
    finally:
        os.close(fd)


class FolderLock:
    """The right to write in a folder; a context manager that waits for it.

    Parameters
    ----------
    folder
        An existing folder.
    wait
        How long others are waited for (s).
    what
        What they are doing, for people.
    """

    def __init__(
        self, folder: Path, *, wait: float = WAIT_SECONDS, what: str = "is writing to this folder"
    ) -> None:
        self._folder, self._wait, self._what = folder, wait, what
        self._path = folder / LOCK
        self._fd: int | None = None

    def __enter__(self) -> FolderLock:
        """Take the lock.

        Raises
        ------
        InputError
            Another process had it all the time.
        """
        start = time.monotonic()
        while self._fd is None and not self.take():
            waited = time.monotonic() - start
            if waited >= self._wait:
                since = f" for {self._wait:.0f} s" if self._wait >= 1 else ""
                raise InputError(
                    f"another lumenmap {self._what}{since}; try again when it has ended",
                    file=self._folder,
                )
            if waited > _QUIET_SECONDS:
                notice(f"{self._folder}: another lumenmap {self._what}; waiting for it to end")
            time.sleep(_LOOK_SECONDS)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.release()

    def take(self) -> bool:
        """Take the lock if it is free, and return whether it was.

        Where the file system has no locks, people are told, and the work goes on without one.
        """
        try:
            fd = system.open_unlinked(self._path, os.O_RDWR | os.O_CREAT)
        except OSError as error:
            return self._without(error)
        try:
            if not system.lock(fd) or not self._is_ours(fd):
                os.close(fd)
                return False
        except OSError as error:
            os.close(fd)
            return self._without(error)
        self._fd = fd
        return True

    def _without(self, error: OSError) -> bool:
        notice(
            f"{self._folder}: can't be locked ({error.strerror or error}); don't run two lumenmap "
            "commands that write to it at once"
        )
        return True

    def _is_ours(self, fd: int) -> bool:
        """Return whether the open file still is the lock file: whoever had it deletes it."""
        try:
            return os.path.samestat(os.fstat(fd), self._path.lstat())
        except FileNotFoundError:
            return False

    def release(self) -> None:
        """Let others in."""
        fd, self._fd = self._fd, None
        if fd is None:
            return
        # Windows deletes no open file. There the next one may have it open by now, and keeps it.
        if system.WINDOWS:
            os.close(fd)
        with contextlib.suppress(OSError):
            self._path.unlink()
        if not system.WINDOWS:
            os.close(fd)
