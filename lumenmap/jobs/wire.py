"""`Wire`: the right to send to a house's controllers. One house, one voice.

Two commands that send to the same pixels make them flicker. So whoever sends holds the house's
wire, a lock of the operating system's on a file in the folder ``.lumenmap`` next to the house; it
ends with its process, however that ends. The file says who holds it, for people.

A command that needs the wire for a moment borrows it:

    with Wire(folder, "locate") as wire:
        stream.play(frames, close=not wire.borrowed)

``with`` takes a free wire. If one who lends holds it (`lumenmap run`), it asks by a lock on a
second file, and waits until it is given; at the end of the block the lender takes it back. While it
is borrowed the borrower sends; at the end it leaves the pixels as they are, since the lender's next
frame follows at once. If the holder doesn't lend, there is an `InputError` that names it.

A lender, such as the evening, looks twice a second or more often whether somebody asks:

    wire = Wire(folder, "run")
    wire.take()
    if wire.wanted():
        ...                     # stop sending, without making anything dark
        wire.release()
        while not wire.take():  # it isn't given while somebody asks
            time.sleep(0.2)

Where the folder can't be written, or its file system has no locks, the work goes on without; people
are told once.
"""

from __future__ import annotations

import contextlib
import json
import os
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any

from lumenmap.core import system
from lumenmap.core.errors import InputError
from lumenmap.core.notices import notice
from lumenmap.core.plain import plain

#: The folder next to a house that holds its wire, and an evening's state.
FOLDER = ".lumenmap"
_HELD, _ASKED = "wire", "wire-wanted"
#: A lender looks at least twice a second; one that doesn't give it in so long (s) doesn't lend.
LEND_SECONDS = 5.0
_LOOK_SECONDS = 0.05
_LARGEST = 2000


@dataclass(frozen=True, slots=True)
class Holder:
    """Who holds a wire: a command's name, its process, since when."""

    who: str
    process: int
    since: str

    def __str__(self) -> str:
        """Return it for people: ``lumenmap run (process 812, since 17:02)``."""
        when = ""
        with contextlib.suppress(ValueError):
            when = f", since {datetime.fromisoformat(self.since).astimezone():%H:%M}"
        return f"lumenmap {self.who} (process {self.process}{when})"


def wire_folder(house: Path | None) -> Path:
    """Return the folder of a house's wire: ``.lumenmap`` next to its file."""
    return (house.parent if house is not None else Path.cwd()) / FOLDER


class Wire:
    """One command's share in a house's wire; see the module for how it is used.

    Parameters
    ----------
    folder
        `wire_folder` of the house; made if it doesn't exist.
    who
        The command's name, for people.
    wait
        How long ``with`` waits for one who holds the wire (s).

    Attributes
    ----------
    borrowed
        Whether ``with`` got it from somebody who takes it back.
    """

    def __init__(self, folder: Path, who: str, *, wait: float = LEND_SECONDS) -> None:
        self._folder, self._who, self._wait = folder, who, wait
        self._held: int | None = None
        self._asking: int | None = None
        self.borrowed = False

    @property
    def held(self) -> bool:
        """Whether this command holds the wire."""
        return self._held is not None

    def take(self) -> bool:
        """Take the wire if it is free and nobody asks for it; return whether it is ours now."""
        return self.held or (self.wanted() is None and self._take())

    def wanted(self) -> Holder | None:
        """Return who asks for the wire, if anybody but us does."""
        return holder(self._folder, _ASKED) if self._asking is None else None

    def release(self) -> None:
        """Let go of the wire."""
        _close(self._held)
        self._held = None

    def __enter__(self) -> Wire:
        """Take the wire, or borrow it.

        Raises
        ------
        InputError
            Somebody else holds it and doesn't lend it, or has borrowed it.
        """
        end = time.monotonic() + self._wait
        first = holder(self._folder)
        while not self._take():
            self.borrowed |= holder(self._folder) is not None
            if self._asking is None:
                self._asking = self._lock(_ASKED)
            if time.monotonic() > end:
                self._stop_asking()
                by = holder(self._folder, _ASKED) or holder(self._folder) or first
                raise InputError(
                    f"{by or 'another lumenmap'} is sending to this house; stop it first",
                    file=self._folder.parent,
                )
            time.sleep(_LOOK_SECONDS)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.release()
        self._stop_asking()

    def _stop_asking(self) -> None:
        _close(self._asking)
        self._asking = None

    def _take(self) -> bool:
        if self._held is None:
            self._held = self._lock(_HELD)
        return self._held is not None

    def _lock(self, name: str) -> int | None:
        """Lock a file and write in it whose it is; None if it is another's, -1 without locks."""
        path = self._folder / name
        fd = -1
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            fd = _open(path)
            if not system.lock(fd):
                os.close(fd)
                return None
        except OSError as error:
            _close(fd)
            notice(
                f"{path}: can't be locked ({error.strerror or error}); see that no two commands "
                "send to this house at once"
            )
            return -1
        with contextlib.suppress(OSError):  # who it is, is a help only
            text = json.dumps(
                {
                    "who": self._who,
                    "process": os.getpid(),
                    "since": datetime.now(UTC).isoformat(timespec="seconds"),
                }
            )
            os.ftruncate(fd, 0)
            os.pwrite(fd, text.encode(), 0)
        return fd


def holder(folder: Path, name: str = _HELD) -> Holder | None:
    """Return who holds a house's wire now, or None if nobody does."""
    path = folder / name
    try:
        fd = _open(path, make=False)
    except OSError:
        return None
    try:
        if system.lock(fd):  # nobody's; closing it gives it back
            return None
        with path.open("rb") as file:
            data: Any = json.loads(file.read(_LARGEST))
        return Holder(
            plain(str(data["who"]), 40), int(data["process"]), plain(str(data["since"]), 40)
        )
    except OSError:
        return None
    except (ValueError, LookupError, TypeError):  # it has just been taken
        return Holder("command", 0, "")
    finally:
        os.close(fd)


def _open(path: Path, *, make: bool = True) -> int:
    """Open a lock file; one of another user's is only read, which is enough for a lock."""
    try:
        return system.open_unlinked(path, os.O_RDWR | (os.O_CREAT if make else 0))
    except PermissionError:
        return system.open_unlinked(path, os.O_RDONLY)


def _close(fd: int | None) -> None:
    if fd is not None and fd >= 0:
        os.close(fd)
