"""The year's table: what plays from when to when, for a board that only knows the time.

PROTOCOL.md describes it. Everything is in UTC, so that summer time, sunset and the house's rules
are all worked out here and the board compares numbers.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from lumenmap.core.errors import InputError

MAGIC, VERSION = b"LMYT", 1
#: Images that a board knows by number, and what stands for none of them.
MOST_IMAGES, NO_IMAGE = 64, 255
_HEAD = struct.Struct("<4sBBBBIIII")
_ENTRY = struct.Struct("<IIHBB")
#: How long before a stretch its show may have begun, s.
_LONGEST_BACK = 65535


@dataclass(frozen=True, slots=True)
class Entry:
    """A stretch of an evening: seconds since 1970 (UTC), image number, brightness 0 to 255.

    ``begun`` is when the show's first frame was due, at or before ``start``.
    """

    start: int
    stop: int
    begun: int
    image: int
    level: int


def year_table(
    entries: Sequence[Entry],
    ids: Sequence[int],
    span: tuple[int, int],
    *,
    default: int = NO_IMAGE,
    level: int = 255,
) -> bytes:
    """Pack a table.

    Parameters
    ----------
    entries
        In order, without overlap.
    ids
        Each image's identity: the CRC of its header.
    span
        The table's year, seconds since 1970: start, and stop, which is not part of it.
    default, level
        Image and brightness while the time isn't known.

    Raises
    ------
    InputError
        More images than the board counts, or entries that contradict each other.
    """
    if len(ids) > MOST_IMAGES:
        raise InputError(
            f"{len(ids)} shows play in this year; the board has room for {MOST_IMAGES}"
        )
    if len(entries) > 65535:
        raise InputError(f"{len(entries)} stretches in a year; the table has room for 65535")
    for before, after in pairwise(entries):
        if after.start < before.stop:
            raise InputError("two stretches of the year overlap")
    rows = b"".join(
        _ENTRY.pack(
            e.start, e.stop, min(e.start - e.begun, _LONGEST_BACK), _known(e.image, ids), e.level
        )
        for e in entries
    )
    first = default if default == NO_IMAGE else _known(default, ids)
    head = _HEAD.pack(MAGIC, VERSION, len(ids), first, level, len(entries), *span, 0)
    data = head + struct.pack(f"<{len(ids)}I", *ids) + rows
    return data + struct.pack("<I", zlib.crc32(data))


def image_id(image: bytes) -> int:
    """Return a flash image's identity: the CRC of its header."""
    size: int = struct.unpack_from("<I", image, 8)[0]
    found: int = struct.unpack_from("<I", image, size - 4)[0]
    return found


def _known(image: int, ids: Sequence[int]) -> int:
    if not 0 <= image < len(ids):
        raise InputError(f"image {image}; there are {len(ids)}")
    return image
