"""Animated GIF (GIF89a): exact timing, one palette for the whole clip, constant memory.

Strategy: a clip is cut into parts that are drawn, mapped and compressed in parallel. The cuts
depend on the number of frames alone, so the file doesn't depend on the machine.
"""

from __future__ import annotations

import itertools
import mmap
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.files import whole_file
from lumenmap.core.parallel import in_parallel
from lumenmap.pictures.encode.gif_format import SAME, delays, header, shown
from lumenmap.pictures.encode.lookup import Lookup
from lumenmap.pictures.encode.nearest import Dither, Nearest, changed
from lumenmap.pictures.encode.palette_fit import fit_palette
from lumenmap.pictures.inner import image

Frame = NDArray[np.uint8]

Draw = Callable[[int, int], Frame]

#: Frames per part, about. A cut costs about as many bytes as a frame or two.
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


def write_gif(
    path: Path | str,
    frames: Drawn,
    *,
    palette_from: Frame,
    loop: int = 0,
    dither: bool = False,
    flush: bool = True,
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
    flush
        As `whole_file`.

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
    with whole_file(path, flush=flush) as partial, partial.open("wb") as out:
        palette = fit_palette(list(palette_from), SAME)
        height, width = palette_from.shape[1:3]
        out.write(header(width, height, palette, loop))
        cuts = _cuts(count)

        tally = _Tally(frames, len(cuts) - 1)
        dithered: Dither = "always" if dither else "first"
        lookup = Lookup(palette)

        def work(n: int) -> Part:
            mapper = Nearest(lookup, dither=dithered)
            return _part(tally.counted(n), cuts[n], cuts[n + 1], mapper)

        ends = [0, *itertools.accumulate(itertools.islice(delays(frames.fps), count))]
        held, since = b"", 0
        for frame, made in _joined(in_parallel(work, len(cuts) - 1, tally.tell), cuts):
            out.write(shown(held, ends[frame] - ends[since]))
            held, since = made, frame
        out.write(shown(held, ends[count] - ends[since]) + b";")


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
    """Return where parts begin, and the end; the first has no lead-in and is longer.

    More than one are an even number, so that two processors have as much to do.
    """
    parts = 2 * round(count / (2 * PART)) or 1
    each = (count + (parts - 1) * LEAD_IN) / parts
    return [0, *(round(each * n - LEAD_IN * (n - 1)) for n in range(1, parts)), count]


def _part(draw: Draw, start: int, stop: int, mapper: Nearest) -> Part:
    """Draw, map and compress frames ``start`` to ``stop``."""
    mapper.frames(draw(max(0, start - LEAD_IN), start + 1))
    first, images = mapper.indices.copy(), []
    for block in range(start + 1, stop, BLOCK):
        mapped = mapper.frames(draw(block, min(block + BLOCK, stop)))
        for frame, (changes, box) in enumerate(zip(*mapped, strict=True), block):
            if box.any():
                images.append((frame, image(changes, box, SAME)))
    return Part(first, mapper.indices, images)


def _joined(parts: Iterable[Part], cuts: Sequence[int]) -> Iterator[tuple[int, bytes]]:
    """Yield (frame, image) of all parts, and of the cuts between them."""
    before = None
    for start, part in zip(cuts, parts, strict=False):
        if before is None:
            height, width = part.first.shape
            yield start, image(part.first, (0, 0, width, height), SAME)
        else:
            (changes,), (box,) = changed(before, part.first)
            if box.any():
                yield start, image(changes, box, SAME)
        yield from part.images
        before = part.last
