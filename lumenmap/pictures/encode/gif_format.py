"""The container of an animated GIF (GIF89a), in bytes.

Strategy: it is written here, so that every delay follows from the running time. Of each frame only
the rectangle that changed is written, with unchanged pixels transparent. A frame like the one
before only lengthens its delay.
"""

from __future__ import annotations

import itertools
import struct
from collections.abc import Iterator
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import image as whole

Frame = NDArray[np.uint8]

#: The last index of the palette means "unchanged".
SAME = 255
#: Longest delay: 16 bits of 1/100 s.
LONGEST = 65535


def delays(fps: float) -> Iterator[int]:
    """Yield each frame's delay in 1/100 s; their running sum is the exact time, rounded.

    >>> list(itertools.islice(delays(30), 6))
    [3, 4, 3, 3, 4, 3]
    """
    rate = Fraction(fps).limit_denominator(1_000_000)
    before = 0
    for n in itertools.count(1):
        after = round(100 * n / rate)
        yield after - before
        before = after


def header(width: int, height: int, colours: Frame, loop: int) -> bytes:
    """Return what comes before the images: the screen, its colours, and how often it plays."""
    table = np.zeros((256, 3), np.uint8)
    table[: len(colours)] = colours
    screen = struct.pack("<6sHHBBB", b"GIF89a", width, height, 0xF7, 0, 0)
    # The extension counts repeats after the first time; a clip that plays once has none.
    repeat = struct.pack("<3s11sBBHB", b"!\xff\x0b", b"NETSCAPE2.0", 3, 1, max(0, loop - 1), 0)
    return screen + table.tobytes() + (b"" if loop == 1 else repeat)


def _control(delay: int) -> bytes:
    return struct.pack("<BBBBHBB", 0x21, 0xF9, 4, 0b101, delay, SAME, 0)


def shown(image: bytes, delay: int) -> bytes:
    """Return an image with its delay; images that change nothing extend a long one."""
    if not image:
        return b""
    waits = [min(delay - gone, LONGEST) for gone in range(0, max(delay, 1), LONGEST)]
    nothing = whole(np.full((1, 1), SAME, np.uint8), (0, 0, 1, 1), SAME) if len(waits) > 1 else b""
    return b"".join(_control(w) + (nothing if n else image) for n, w in enumerate(waits))
