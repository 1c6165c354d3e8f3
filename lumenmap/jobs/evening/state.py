"""The folder where an evening's state is kept, with its lock."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from lumenmap.core.errors import InputError
from lumenmap.core.folders.locks import FolderLock
from lumenmap.core.notices import notice
from lumenmap.core.system import spare_folders


@contextlib.contextmanager
def open_state(folder: Path) -> Iterator[Path]:
    """Make the folder where an evening's state is kept, and hold its lock; give the folder.

    Where it can't be made or written, another one is given, which is gone after the block: an
    evening needs no disk.

    Raises
    ------
    InputError
        It is a link, or another evening plays from it: two that send to the same controller would
        make it flicker.
    """
    if folder.is_symlink():
        raise InputError("is a link; name the folder that it points to", file=folder)
    if folder.exists() and not folder.is_dir():
        raise InputError("is a file; expected a folder", file=folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _try_to_write(folder)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        notice(f"{folder}: can't be written ({why}); the state is kept in memory, until it ends")
        if not folder.is_dir():
            with tempfile.TemporaryDirectory(prefix="lumenmap-", dir=spare_folders()[0]) as spare:
                yield Path(spare)
            return
    # Somebody who only looks whether it is held has it for a moment.
    with FolderLock(folder, wait=0.2, what="plays from this folder"):
        yield folder


def _try_to_write(folder: Path) -> None:
    name = folder / f".written-{os.getpid()}"
    try:
        name.write_bytes(b"")
    finally:
        with contextlib.suppress(OSError):
            name.unlink(missing_ok=True)
