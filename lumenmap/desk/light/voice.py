"""The right to send to a house's controllers: one house, one voice."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

from lumenmap.core.errors import InputError
from lumenmap.core.folders.locks import FolderLock

#: Where `lumenmap run` keeps its state, and its lock.
_STATE = ".lumenmap"


@contextlib.contextmanager
def voice(folder: Path) -> Iterator[bool]:
    """Hold the wire for as long as the block runs; gives whether it was borrowed.

    What was borrowed goes on by itself afterwards, so the borrower doesn't make it dark.

    Raises
    ------
    InputError
        Somebody else sends to the house.
    """
    state = folder / _STATE
    try:
        state.mkdir(exist_ok=True)
    except OSError as error:
        raise InputError(f"can't be written: {error.strerror}", file=state) from None
    with FolderLock(state, wait=0, what="sends to this house"):
        yield False
