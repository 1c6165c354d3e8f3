"""Animated GIF (GIF89a): exact timing, one palette for the whole clip, constant memory.

Strategy: the container is written here, so that every delay follows from the running time; the LZW
data come from Pillow. Only the rectangle that changed is written of each frame, with unchanged
pixels transparent. A frame like the one before only lengthens its delay. A clip is cut into parts
that are drawn, mapped and compressed in parallel. The cuts depend on the number of frames alone,
so the file doesn't depend on the machine.
"""

from __future__ import annotations

import itertools
import mmap
import os
import struct
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import GifImagePlugin, Image

from lumenmap.core.errors import InputError
from lumenmap.core.files import whole_file
from lumenmap.pictures.encode.lookup import Lookup
from lumenmap.pictures.encode.nearest import Dither, Nearest, Spots
from lumenmap.pictures.encode.palette_fit import fit_palette
from lumenmap.pictures.encode.parallel import in_parallel

Frame = NDArray[np.uint8]

Draw = Callable[[int, int], Frame]

#: The last index of the palette means "unchanged".
SAME = 255
#: Longest delay: 16 bits of 1/100 s.
LONGEST = 65535
#: Frames per part. A cut costs about as many bytes as a frame or two.
PART = 100
#: Frames that a part maps before its own, so that colours are as if mapped from the start.
LEAD_IN = 8
#: Frames drawn at a time.
BLOCK = 16


@dataclass(frozen=True, slots=True)
class Drawn:
    """Frames to be drawn: ``draw(i, j)`` gives frames i to j of ``count``, at ``fps`` frames/s.

    ``draw`` returns (j - i, H, W, 3) uint8 sRGB; it may be called in other processes, for frames in
    any order. ``told`` gets the frames done and those in all, now and then.
    """

    draw: Draw
    count: int
    fps: float
    told: Callable[[int, int], None] | None = None


class Part(NamedTuple):
    """A part of a clip: palette indices of its first and last frames, and changes as LZW."""

    first: Frame
    last: Frame
    images: list[tuple[int, bytes]]


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


def write_gif(
    path: Path | str,
    frames: Drawn,
    *,
    palette_from: Frame,
    loop: int = 0,
    dither: bool = False,
) -> None:
    """Write frames as a GIF.

    Parameters
    ----------
    frames
        0.1 to 100 frames/s; above 50 most viewers slow down.
    palette_from
        (K, H, W, 3) frames to fit the palette to.
    loop
        Times to play; 0 for endless.
    dither
        Ordered dithering of everything; otherwise only of what stands still.

    Raises
    ------
    InputError
        No frames, a frame rate that GIF can't hold, or a path that can't be written.
    """
    count = frames.count
    if not 0.1 <= frames.fps <= 100:
        raise InputError(
            f"a GIF of {frames.fps:g} frames/s; expected 0.1 to 100", file=path, key="fps"
        )
    if count < 1:
        raise InputError("there are no frames to write", file=path)
    with whole_file(path) as partial, partial.open("wb") as out:
        palette = fit_palette(list(palette_from), SAME)
        height, width = palette_from.shape[1:3]
        out.write(_header(width, height, palette, loop))
        cuts = _cuts(count)

        tally = _Tally(frames, len(cuts) - 1)
        dithered: Dither = "always" if dither else "first"
        lookup = Lookup(palette)

        def work(n: int) -> Part:
            mapper = Nearest(lookup, dither=dithered)
            return _part(tally.counted(n), cuts[n], cuts[n + 1], mapper)

        ends = [0, *itertools.accumulate(itertools.islice(delays(frames.fps), count))]
        held, since = b"", 0
        for frame, image in _joined(in_parallel(work, len(cuts) - 1, tally.tell), cuts):
            out.write(_shown(held, ends[frame] - ends[since]))
            held, since = image, frame
        out.write(_shown(held, ends[count] - ends[since]) + b";")


class _Tally:
    """Counts the frames that are drawn, in whichever process."""

    def __init__(self, frames: Drawn, parts: int) -> None:
        self._draw, self._told = frames.draw, frames.told
        self._total = frames.count + LEAD_IN * (parts - 1)
        # Anonymous memory, which forked processes share.
        self._done = np.frombuffer(mmap.mmap(-1, 8 * parts), np.int64)
        self._parent = os.getpid()

    def counted(self, part: int) -> Draw:
        """Return what draws the frames of a part, and counts them."""

        def draw(first: int, stop: int) -> Frame:
            drawn = self._draw(first, stop)
            self._done[part] += stop - first
            if os.getpid() == self._parent:
                self.tell()
            return drawn

        return draw

    def tell(self) -> None:
        """Tell how far all parts are."""
        if self._told:
            self._told(min(int(self._done.sum()), self._total), self._total)


def _cuts(count: int) -> list[int]:
    """Return where parts begin, and the end; the first has no lead-in and is longer."""
    parts = max(1, round(count / PART))
    each = (count + (parts - 1) * LEAD_IN) / parts
    return [0, *(round(each * n - LEAD_IN * (n - 1)) for n in range(1, parts)), count]


def _part(draw: Draw, start: int, stop: int, mapper: Nearest) -> Part:
    """Draw, map and compress frames ``start`` to ``stop``."""
    images = []
    first = now = np.zeros((0, 0), np.uint8)
    drawn = max(0, start - LEAD_IN)
    for block in range(drawn, stop, BLOCK):
        for frame, picture in enumerate(draw(block, min(block + BLOCK, stop)), block):
            now, changed = mapper.frame(picture)
            if frame == start:
                first = now.copy()
            elif frame > start and len(changed):
                images.append((frame, _changes(now, changed)))
    return Part(first, now, images)


def _joined(parts: Iterable[Part], cuts: Sequence[int]) -> Iterator[tuple[int, bytes]]:
    """Yield (frame, image) of all parts, and of the cuts between them."""
    before = None
    for start, part in zip(cuts, parts, strict=False):
        if box := _changed(before, part.first):
            yield start, _image(before, part.first, box)
        yield from part.images
        before = part.last


def _header(width: int, height: int, colours: Frame, loop: int) -> bytes:
    table = np.zeros((256, 3), np.uint8)
    table[: len(colours)] = colours
    screen = struct.pack("<6sHHBBB", b"GIF89a", width, height, 0xF7, 0, 0)
    # The extension counts repeats after the first time; a clip that plays once has none.
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


def _shown(image: bytes, delay: int) -> bytes:
    """Return an image with its delay; images that change nothing extend a long one."""
    if not image:
        return b""
    waits = [min(delay - gone, LONGEST) for gone in range(0, max(delay, 1), LONGEST)]
    nothing = _lzw(np.full((1, 1), SAME, np.uint8), (0, 0)) if len(waits) > 1 else b""
    return b"".join(_control(w) + (nothing if n else image) for n, w in enumerate(waits))


def _image(before: Frame | None, now: Frame, box: tuple[slice, slice]) -> bytes:
    part = now[box].copy()
    if before is not None:
        part[part == before[box]] = SAME
    return _lzw(part, (int(box[1].start), int(box[0].start)))


def _changes(now: Frame, changed: Spots) -> bytes:
    """Return the image of a frame (H, W) that changed at some pixels, in ascending order."""
    y, x = np.divmod(changed, now.shape[1])
    top, left = y[0], x.min()
    part = np.full((y[-1] + 1 - top, x.max() + 1 - left), SAME, np.uint8)
    part[y - top, x - left] = now.ravel().take(changed)
    return _lzw(part, (int(left), int(top)))


def _lzw(part: Frame, corner: tuple[int, int]) -> bytes:
    return b"".join(GifImagePlugin.getdata(Image.fromarray(part), corner))
