"""`Cache`: what takes long to make, kept between runs in the user's cache folder.

An entry is known by a digest of all that it was made from, and starts with the SHA-256 of its
content, so that one that is stale, cut short or damaged is never used. Nothing here stops the work:
a failure is told once, and a broken entry is deleted.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import time
from pathlib import Path

from lumenmap.core import system
from lumenmap.core.errors import InputError
from lumenmap.core.files import write_whole
from lumenmap.core.notices import notice

_ENTRY = re.compile(r"[0-9a-f]{24}")
_DRAFT = re.compile(r"\.[0-9a-f]{24}-[0-9a-f]{16}")
#: A draft that old is of a run that was killed (s).
_DEAD_SECONDS = 3600.0
_DIGEST = hashlib.sha256().digest_size


class Cache:
    """Entries of one kind; the longest unused are deleted when they are too many or too large.

    Parameters
    ----------
    kind
        Name of their folder.
    entries, size
        The most to keep: their number, and their bytes in all.
    """

    def __init__(self, kind: str, entries: int, size: int) -> None:
        self._kind, self._entries, self._size = kind, entries, size

    @property
    def folder(self) -> Path:
        """Where the entries are."""
        return system.user_cache() / self._kind

    def get(self, key: str) -> bytes | None:
        """Return an entry's content, or None if there is none or it is damaged.

        ``key`` is 24 hexadecimal digits.
        """
        path = self.folder / key
        try:
            with path.open("rb") as file:
                digest, content = file.read(_DIGEST), file.read()
            os.utime(path)
        except FileNotFoundError:
            return None
        except OSError as error:
            self._tell(error)
            return None
        if hashlib.sha256(content).digest() != digest:
            self.drop(key)
            return None
        return content

    def put(self, key: str, content: bytes) -> None:
        """Keep an entry, if that is possible."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            whole = hashlib.sha256(content).digest() + content
            write_whole(self.folder / key, whole, flush=False)  # what power cuts damage is found
            self._thin()
        except (OSError, InputError) as error:
            self._tell(error)

    def drop(self, key: str) -> None:
        """Throw an entry away."""
        with contextlib.suppress(OSError):
            (self.folder / key).unlink()

    def _tell(self, error: OSError | InputError) -> None:
        reason = error.strerror if isinstance(error, OSError) else error.message
        folder = system.user_cache()  # of all kinds, so that it is told once
        notice(f"{folder}: can't be used as a cache: {reason}; the work goes on without it")

    def _thin(self) -> None:
        found = []
        for path in self.folder.iterdir():
            with contextlib.suppress(OSError):  # another run may be thinning too
                stat = path.lstat()
                if _ENTRY.fullmatch(path.name):
                    found.append((stat.st_mtime, stat.st_size, path))
                elif _DRAFT.fullmatch(path.name) and stat.st_mtime < time.time() - _DEAD_SECONDS:
                    path.unlink()
        total = 0
        for n, (_, size, path) in enumerate(sorted(found, reverse=True)):
            total += size
            if n >= self._entries or total > self._size:
                self.drop(path.name)
