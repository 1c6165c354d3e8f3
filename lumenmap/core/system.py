"""What Windows, macOS and Linux do differently, in one place: locks, flushing, links, folders.

Everything else is written once for all three. A test puts Windows' rules in the place of this
machine's, so nothing outside this file may ask which system it runs on.
"""

from __future__ import annotations

import contextlib
import errno
import importlib
import os
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

WINDOWS = sys.platform == "win32"
#: The byte that a lock is on. Windows keeps others from reading a locked byte, so it is one far
#: behind the end of any lock file.
_LOCKED_BYTE = 1 << 20
#: On Windows a file that another program has open can't be replaced: virus scanners and indexers
#: look at new files for a moment (s).
_PATIENCE = 2.0


def lock(fd: int) -> bool:
    """Take the operating system's lock on an open file, which ends with the process; don't wait.

    Returns
    -------
    bool
        False if somebody else has it.

    Raises
    ------
    OSError
        The file system has no locks.
    """
    # Loaded by name: each system has only one of the two modules.
    try:
        if WINDOWS:
            msvcrt: Any = importlib.import_module("msvcrt")
            os.lseek(fd, _LOCKED_BYTE, os.SEEK_SET)
            msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)
        else:
            fcntl: Any = importlib.import_module("fcntl")
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in (errno.EACCES, errno.EAGAIN, errno.EDEADLK):
            return False
        raise
    return True


def flush(path: Path) -> None:
    """Have a file or a folder written to the disk; where the system can't, do nothing."""
    if path.is_dir():
        if WINDOWS:  # folders can't be opened there; the rename is written with its journal
            return
        mode = os.O_RDONLY
    else:
        mode = os.O_RDWR if WINDOWS else os.O_RDONLY  # what is only read can't be flushed there
    fd = os.open(path, mode)
    try:
        os.fsync(fd)
    except OSError:  # some file systems have no fsync for folders; the rename is still atomic
        pass
    finally:
        os.close(fd)


def only_read(path: Path) -> bool:
    """Return whether a path lies on a disk that is only read now, as a card that failed is."""
    if WINDOWS:  # it has no such mounts
        return False
    try:
        return bool(os.statvfs(path).f_flag & os.ST_RDONLY)
    except OSError:
        return False


def open_unlinked(path: Path, flags: int, mode: int = 0o666) -> int:
    """Open a file that is no symbolic link; return its descriptor.

    Raises
    ------
    OSError
        A link, or whatever else keeps it from being opened.
    """
    # Windows has neither flag; making a link there takes an administrator.
    extra = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    if not extra and path.is_symlink():
        raise OSError(errno.ELOOP, "is a link", str(path))
    return os.open(path, flags | extra | getattr(os, "O_CLOEXEC", 0), mode)


def replace(source: Path, target: Path) -> None:
    """Move a file onto another; on Windows be patient with whoever has that one open."""
    end = time.monotonic() + _PATIENCE
    while True:
        try:
            source.replace(target)
        except PermissionError:
            if not WINDOWS or time.monotonic() > end:
                raise
            time.sleep(0.05)
        else:
            return


def spare_folders() -> list[Path]:
    """Return folders for what a full disk has no room for: in memory first, if there is one."""
    memory = Path("/dev/shm")  # POSIX shared memory (shm_overview(7)), where there is any
    found = [memory] if memory.is_dir() else []
    return [*found, Path(tempfile.gettempdir())]


def user_number() -> int:
    """Return the number of the user who runs this; on Windows, which has none, 0."""
    return os.getuid() if hasattr(os, "getuid") else 0


def lower_priority() -> None:
    """Let other programs go first, in this process and what it starts.

    Whoever started it may go before others, as the unit of ``run --systemd`` does.
    """
    with contextlib.suppress(AttributeError, OSError):  # Windows has none; a service may not
        os.nice(5 - min(0, os.nice(0)))


def user_cache() -> Path:
    """Return the folder for what this user's programs can make again."""
    from platformdirs import user_cache_path

    return user_cache_path("lumenmap", appauthor=False)


def user_config() -> Path:
    """Return the folder for what this user has chosen and made for every house."""
    from platformdirs import user_config_path

    return user_config_path("lumenmap", appauthor=False)


def user_state() -> Path:
    """Return the folder for what this user's programs keep (XDG Base Directory on Linux)."""
    from platformdirs import user_state_path

    return user_state_path("lumenmap", appauthor=False)


def give_back_memory() -> None:
    """Have the allocator return what it holds and doesn't use, where it knows how (malloc_trim(3)).

    Arrays that come and go leave it with many times what is kept; a program that waits for the next
    edit may as well wait without.
    """
    import ctypes

    with contextlib.suppress(OSError, AttributeError, TypeError):  # no such library, or function
        ctypes.CDLL(None).malloc_trim(0)
