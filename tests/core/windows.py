"""Windows' rules for files, laid over this machine: what a call would do there, it does here.

The rules are those that Microsoft's reference of the C run-time library and of Win32 give [M]:
a folder can't be opened with `open`; what was opened to be read can't be flushed (`_commit`);
an open file can be neither replaced nor deleted; `_locking` locks from the current position on, and
fails at once with EACCES if asked not to wait; there is no `fcntl`, `fork` or O_NOFOLLOW; signal 0
is Ctrl-C. Text is in a code page unless an encoding is given, and `\n` becomes `\r\n`, so neither
may be left to the system.
"""

import errno
import fcntl
import io
import os
import shutil
import sys
from pathlib import Path
from types import ModuleType

import pytest

from lumenmap.core import system

FORBIDDEN = set('<>:"|?*\\')


def opened(path) -> bool:
    """Whether this process has a file open."""
    try:
        wanted = Path(path).lstat()
    except OSError:
        return False
    for fd in os.listdir("/proc/self/fd"):
        try:
            if os.path.samestat(os.fstat(int(fd)), wanted):
                return True
        except OSError:
            continue
    return False


def _msvcrt() -> ModuleType:
    made = ModuleType("msvcrt")
    made.LK_NBLCK = 2

    def locking(fd, mode, count):
        assert mode == made.LK_NBLCK and count == 1
        assert os.lseek(fd, 0, os.SEEK_CUR) > 1000, "nobody else could read a locked byte"
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise OSError(errno.EACCES, "Permission denied") from None

    made.locking = locking
    return made


def lay_over(patch: pytest.MonkeyPatch) -> None:
    """Lay the rules over this process until the patch is undone."""
    real = {f: getattr(os, f) for f in ("open", "fsync", "replace", "rename", "unlink")}

    def open_(path, flags, mode=0o777, **kw):
        if Path(path).is_dir():
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        assert not FORBIDDEN & set(Path(path).name), path
        return real["open"](path, flags, mode, **kw)

    def fsync(fd):
        if fcntl.fcntl(fd, fcntl.F_GETFL) & os.O_ACCMODE == os.O_RDONLY:
            raise AssertionError("flushed a file that was opened to be read")
        real["fsync"](fd)

    def unless_open(name, which):
        def call(*paths, **kw):
            # This system itself reads folders through open descriptors.
            if any(opened(paths[i]) and not Path(paths[i]).is_dir() for i in which):
                raise PermissionError(errno.EACCES, "used by another process", str(paths[-1]))
            return real[name](*paths, **kw)

        return call

    def no_kill(pid, number):
        raise AssertionError("os.kill: on Windows this ends the other program")

    def explicit(encoding, stacklevel=2):
        caller = sys._getframe(stacklevel).f_globals.get("__name__", "")
        assert encoding is not None or not caller.startswith("lumenmap"), f"{caller}: no encoding"
        return encoding or "utf-8"

    patch.setattr(system, "WINDOWS", True)
    patch.setattr(shutil, "_use_fd_functions", False)  # the way that shutil goes there
    patch.setattr(system, "_PATIENCE", 0.2)
    patch.setitem(sys.modules, "msvcrt", _msvcrt())
    patch.setitem(sys.modules, "fcntl", None)
    patch.delattr(os, "O_NOFOLLOW")
    patch.delattr(os, "O_CLOEXEC")
    patch.delattr(os, "fork")
    patch.setattr(os, "open", open_)
    patch.setattr(os, "fsync", fsync)
    patch.setattr(os, "kill", no_kill)
    patch.setattr(os, "replace", unless_open("replace", (0, 1)))
    patch.setattr(os, "rename", unless_open("rename", (0, 1)))
    patch.setattr(os, "unlink", unless_open("unlink", (0,)))
    patch.setattr(io, "text_encoding", explicit)
    patch.setattr("lumenmap.core.parallel.processors", lambda: 1)
