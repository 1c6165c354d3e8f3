"""Reading people's files: regular ones only, and never more of one than it may have.

A device has no end, and a named pipe waits for somebody to write. Neither is opened: what a path
leads to is looked at before (opening a device may already do something), and once more when it is
open, as it may have been replaced in between.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import BinaryIO

from lumenmap.core.errors import InputError

#: A pipe that took the file's place must not hold us up, nor a terminal become ours.
_FLAGS = os.O_RDONLY | sum(
    getattr(os, name, 0) for name in ("O_NONBLOCK", "O_NOCTTY", "O_CLOEXEC", "O_BINARY")
)
_KINDS = (
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISFIFO, "a named pipe"),
    (stat.S_ISSOCK, "a socket"),
)


def open_regular(path: Path | str) -> BinaryIO:
    """Open a regular file for reading bytes; links are followed.

    Raises
    ------
    InputError
        It is a device, a pipe or a socket, or no path at all.
    OSError
        As from `open`: there is none, it is a folder, it can't be read.
    """
    path = Path(path)
    try:
        _require(path, path.stat().st_mode)
        fd = os.open(path, _FLAGS)
    except InputError:  # a ValueError too
        raise
    except ValueError as error:
        raise InputError(f"isn't a path: {error}", file=path.name) from None
    try:
        _require(path, os.fstat(fd).st_mode)
        return os.fdopen(fd, "rb")
    except BaseException:
        os.close(fd)
        raise


def read_regular(path: Path | str, most: int, expected: str = "a smaller file") -> bytes:
    """Return the bytes of a regular file that has at most ``most`` of them.

    Raises
    ------
    InputError
        As `open_regular`, or the file is larger.
    OSError
        As `open_regular`.
    """
    with open_regular(path) as file:
        # What the system says of a size may be wrong, as under /proc; what is read is not.
        data = file.read(most + 1) or b""
    if len(data) > most:
        size = f"{most / 1e6:g} MB" if most >= 1e6 else f"{most / 1e3:g} kB"
        raise InputError(f"is over {size}; expected {expected}", file=path)
    return data


def _require(path: Path, mode: int) -> None:
    if stat.S_ISREG(mode):
        return
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    what = next((what for is_kind, what in _KINDS if is_kind(mode)), "something else")
    raise InputError(f"is {what}; expected a file", file=path)
