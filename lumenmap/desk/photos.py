"""Photographs that a browser sends for the colours in them: read in memory, and not kept.

Strategy: one picture at a time, of few formats, by its content and not by what it is called, and
none larger than a phone makes. Whatever a decoder raises, the picture is bad and the desk goes on.
"""

from __future__ import annotations

import asyncio
import time

from lumenmap.colour.making.photo import colours_of
from lumenmap.core.errors import InputError
from lumenmap.core.images import NAMES, decoded
from lumenmap.desk.client import Bucket

#: What a browser calls the formats that are read (IANA media types).
KINDS = frozenset(("image/png", "image/jpeg", "image/gif", "image/webp"))
#: The most bytes of one, and the most colours that are looked for.
MOST_BYTES, MOST_COLOURS = 16 << 20, 16
#: So many a minute, and so many that may wait for the one being read.
_A_MINUTE, _WAITING = 20, 3
#: A body must be here within so long (s).
PATIENCE = 60.0


class BusyError(InputError):
    """Too many photographs at once."""


class Photos:
    """Finds the colours of photographs, one after the other."""

    def __init__(self) -> None:
        self._one = asyncio.Lock()
        self._waiting = 0
        self._minute = Bucket(_A_MINUTE, lambda: time.monotonic() / 60)

    async def colours(self, data: bytes, count: int) -> list[str]:
        """Return at most ``count`` colours of a picture, as CSS has them.

        Raises
        ------
        BusyError
            Others wait already, or too many were sent in a minute.
        InputError
            Not a picture that can be read, or one that is black.
        """
        if self._waiting >= _WAITING or not self._minute.take():
            raise BusyError("Other photos are being read. Try again in a moment.")
        self._waiting += 1
        try:
            async with self._one:
                return await asyncio.to_thread(_colours, data, count)
        finally:
            self._waiting -= 1


def _colours(data: bytes, count: int) -> list[str]:
    with decoded(data, "the photo") as image:
        try:
            return colours_of(image, min(max(count, 1), MOST_COLOURS))
        except InputError as error:
            raise InputError(f"the photo {error.message}") from error


def kinds_in_words() -> str:
    """Return which pictures are read, for people."""
    return f"Expected a photo as {NAMES}, of at most {MOST_BYTES >> 20} MB."
