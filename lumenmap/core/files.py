"""Whole-file writing: a file is whole or absent, and nothing is written through a link.

Strategy: everything is first written next to its final place under a hidden name, flushed to disk,
and renamed. Sets of files: `lumenmap.core.folders.output_set`.
"""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import stat
from collections.abc import Iterator
from pathlib import Path

from lumenmap.core import system
from lumenmap.core.errors import InputError, WriteError, nearest


def refused(path: Path, error: OSError | ValueError) -> WriteError:
    """Return what to tell about a file that the system wouldn't write."""
    full = isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT)
    reason = "the disk is full" if full else getattr(error, "strerror", None)
    return WriteError(f"can't be written: {reason or error}", file=path)


def check_replaceable(path: Path) -> bool:
    """Return whether there is a file at ``path``; what isn't a file must not be replaced.

    Raises
    ------
    InputError
        A folder, a link, a device.
    """
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        return False
    except (OSError, ValueError) as error:
        raise refused(path, error) from error
    if stat.S_ISLNK(mode):
        raise InputError("is a link; name the file itself, or another one", file=path)
    if stat.S_ISDIR(mode):
        raise InputError("is a folder; expected the path of a file", file=path)
    if not stat.S_ISREG(mode):
        raise InputError("is a device or a pipe; expected the path of a file", file=path)
    return True


def check_ending(path: Path, *endings: str) -> None:
    """Raise `InputError` for a file to be written whose name ends otherwise, in any case."""
    if path.suffix.lower() not in endings:
        *most, last = endings
        ends = f"{', '.join(most)} or {last}" if most else last
        raise InputError(f"expected a file name ending in {ends}", file=path)


def near_file(path: Path, pattern: str = "*") -> str:
    """Suggest a file of the same folder, in the words of `near`, for one that isn't there.

    Names are compared without their endings, which would make all of a kind a little alike.
    """
    others = sorted(path.parent.glob(pattern), key=lambda other: other.suffix == path.suffix)
    names = {other.stem: other.name for other in others}  # of one name, that of the same kind
    found = names.get(nearest(path.stem, names))
    return f'; did you mean "{found}"?' if found else ""


def inside(folder: Path, name: str) -> Path | None:
    """Return the path of a file that a file in ``folder`` names; None if it lies outside, by links.

    What can't be a path at all, with a NUL or a circle of links, lies outside, too.
    """
    try:
        found = folder / name
        within = found.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):
        return None
    return found if within and name else None


@contextlib.contextmanager
def whole_file(path: Path | str, *, flush: bool = True) -> Iterator[Path]:
    """Give a hidden path next to ``path`` to write to; move it into place if nothing fails.

    Without ``flush`` the file may be lost when the machine loses power, but is never half there
    when a program does.

    Raises
    ------
    InputError
        The folder is missing or can't be written, or a link, folder or device is at ``path``.
    """
    path = Path(path)
    check_replaceable(path)
    # Opened with 0666, so that the system applies the umask: asking for it would set it for a
    # moment, for all threads. mkstemp's 0600 would surprise whoever serves or copies the file.
    draft = path.with_name(f".{path.name[:80]}-{secrets.token_hex(8)}")
    try:
        os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    except OSError as error:
        raise refused(path, error) from error
    try:
        yield draft
        if flush:
            system.flush(draft)
        check_replaceable(path)
        system.replace(draft, path)
        if flush:
            system.flush(path.parent)
    except InputError as error:
        if error.file is None or Path(error.file) != draft:
            raise
        # People know the file by its own name.
        raise type(error)(error.message, file=path, key=error.key) from error
    except OSError as error:
        raise refused(path, error) from error
    finally:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)


def write_whole(path: Path | str, data: bytes | str, *, flush: bool = True) -> None:
    """Write ``data`` (text as UTF-8) to ``path``, whole or not at all; see `whole_file`."""
    with whole_file(path, flush=flush) as draft:
        draft.write_bytes(data.encode() if isinstance(data, str) else data)
