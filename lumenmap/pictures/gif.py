"""Animated GIF (GIF89a): exact time, one palette for the whole clip, frames streamed.

Strategy: the container is written here, so that memory stays flat however long the clip and each
delay is exactly what the running time asks for; the LZW inside comes from Pillow. Of each frame
only the rectangle that changed is written, unchanged places in it as transparent. A frame like
its forerunner only lengthens that one's delay.
"""

from __future__ import annotations

import itertools
import struct
from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import GifImagePlugin, Image

from lumenmap.core.errors import InputError
from lumenmap.core.files import whole_file
from lumenmap.pictures.ahead import ahead
from lumenmap.pictures.nearest import Nearest
from lumenmap.pictures.palette_fit import fit_palette

Frame = NDArray[np.uint8]

#: Frames looked at for the palette, when none are given.
FIRST = 24
#: The palette's last place stands for "as before".
SAME = 255
#: A delay is 16 bits of 1/100 s.
LONGEST = 65535


def delays(fps: float) -> Iterator[int]:
    """Yield each frame's delay in 1/100 s; the running sum is the true time, rounded.

    >>> list(itertools.islice(delays(30), 6))
    [3, 4, 3, 3, 4, 3]
    """
    rate = Fraction(fps).limit_denominator(1_000_000)
    before = 0
    for n in itertools.count(1):
        after = round(100 * n / rate)
        yield after - before
        before = after


def write_gif(
    path: Path | str, frames: Iterable[Frame], fps: float, *,
    loop: int = 0, palette_from: NDArray[np.uint8] | None = None,
    dither: bool = False,
) -> int:  # fmt: skip
    """Write (H, W, 3) uint8 frames as they come; return how many came.

    Parameters
    ----------
    fps
        Frames a second; above 50 most viewers slow down, above 100 the format can't.
    loop
        Times to play; 0 for ever.
    palette_from
        (K, H, W, 3) frames to fit the palette to; by default the first ones.
    dither
        Mix neighbouring colours by a pattern that stands still where the picture does.

    Raises
    ------
    InputError
        No frames, a rate that GIF can't hold, or a path that can't be written.
    """
    if not 0.1 <= fps <= 100:
        raise InputError(f"a GIF of {fps:g} frames a second; wanted 0.1 to 100", file=path)
    stream = iter(frames)
    head = list(itertools.islice(stream, FIRST))
    if not head:
        raise InputError("there are no frames to write", file=path)
    samples = head[::3] if palette_from is None else list(palette_from)
    palette = fit_palette(samples, SAME)
    mapped = Nearest(palette, dither=dither)
    count = 0
    with whole_file(path) as beside, beside.open("wb") as out:
        height, width = head[0].shape[:2]
        out.write(_header(width, height, palette, loop))
        before: Frame | None = None
        held, wait = b"", 0
        places = ahead(map(mapped.frame, itertools.chain(head, stream)))
        for now, delay in zip(places, delays(fps), strict=False):
            count += 1
            box = _changed(before, now)
            if box is None and wait + delay > LONGEST:
                box = slice(0, 1), slice(0, 1)
            if box is not None:
                out.write(_control(wait) + held if held else b"")
                held, wait = _image(before, now, box), 0
            wait += delay
            before = now
        out.write(_control(wait) + held + b";")
    return count


def _header(width: int, height: int, colours: Frame, loop: int) -> bytes:
    table = np.zeros((256, 3), np.uint8)
    table[: len(colours)] = colours
    screen = struct.pack("<6sHHBBB", b"GIF89a", width, height, 0xF7, 0, 0)
    # Times to play counts the first; the extension counts repeats. Playing once has no extension.
    repeat = struct.pack("<3s11sBBHB", b"!\xff\x0b", b"NETSCAPE2.0", 3, 1, max(0, loop - 1), 0)
    return screen + table.tobytes() + (b"" if loop == 1 else repeat)


def _changed(before: Frame | None, now: Frame) -> tuple[slice, slice] | None:
    """Return the rectangle in which two frames differ, or None."""
    if before is None:
        return slice(0, now.shape[0]), slice(0, now.shape[1])
    differ = before != now
    rows = np.flatnonzero(differ.any(1))
    if not len(rows):
        return None
    columns = np.flatnonzero(differ[rows[0] : rows[-1] + 1].any(0))
    return slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)


def _control(delay: int) -> bytes:
    return struct.pack("<BBBBHBB", 0x21, 0xF9, 4, 0b101, delay, SAME, 0)


def _image(before: Frame | None, now: Frame, box: tuple[slice, slice]) -> bytes:
    part = now[box].copy()
    if before is not None:
        part[part == before[box]] = SAME
    image = Image.fromarray(part)
    return b"".join(GifImagePlugin.getdata(image, (int(box[1].start), int(box[0].start))))
