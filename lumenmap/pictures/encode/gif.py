"""Animated GIF (GIF89a): exact timing, one palette for the whole clip, constant memory.

Strategy: a block of frames is drawn, the one before it mapped to the palette, and the one before
that compressed, at the same time in threads: all three spend their time in loops that don't hold
Python's lock. What a frame is mapped to depends on those before it, so they are mapped in order.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.core import parallel
from lumenmap.core.errors import InputError
from lumenmap.core.files import whole_file
from lumenmap.pictures.encode.gif_format import SAME, delays, header, shown
from lumenmap.pictures.encode.nearest import Mapped, Nearest
from lumenmap.pictures.encode.palette_fit import fit_palette
from lumenmap.pictures.inner import image

Frame = NDArray[np.uint8]

Draw = Callable[[int, int], Frame]

#: Frames drawn at a time.
BLOCK = 16
#: Threads that draw, at most: mapping to a palette, in one thread, is then what takes longest.
DRAWING = 3
#: Blocks that are drawn before they are asked for, at most, and the bytes that they may take.
READY, KEPT = 2, 40_000_000


@dataclass(frozen=True, slots=True)
class Drawn:
    """Frames to be drawn: ``draw(i, j)`` gives frames i to j of ``count``, at ``fps`` frames/s.

    ``draw`` returns (j - i, H, W, 3) uint8 sRGB; it is called in other threads, several at once.
    ``told`` gets the frames done and those in all, now and then.
    """

    draw: Draw
    count: int
    fps: float
    told: Callable[[int, int], None] | None = None


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
    with whole_file(path, flush=flush) as draft, draft.open("wb") as out:
        drawn = _drawn(frames, palette_from[0].nbytes)
        with ThreadPoolExecutor(1) as beside:  # while the first frames are drawn
            fitted = beside.submit(fit_palette, list(palette_from), SAME)
            first = next(drawn)
        palette = fitted.result()
        height, width = palette_from.shape[1:3]
        out.write(header(width, height, palette, loop))
        mapper = Nearest(palette, dither="always" if dither else "first")
        ends = [0, *itertools.accumulate(itertools.islice(delays(frames.fps), count))]
        held, since = b"", 0
        for frame, made in _images(itertools.chain([first], drawn), mapper, frames):
            out.write(shown(held, ends[frame] - ends[since]))
            held, since = made, frame
        out.write(shown(held, ends[count] - ends[since]) + b";")


def _drawn(frames: Drawn, size: int) -> Iterator[tuple[int, Frame]]:
    """Yield the frames a block at a time, each with the number of its first; ``size``: of one."""
    starts = range(0, frames.count, BLOCK)
    works = (partial(frames.draw, i, min(i + BLOCK, frames.count)) for i in starts)
    threads = max(1, min(DRAWING, parallel.processors() - 1))  # beside the one that maps
    more = min(READY, KEPT // (BLOCK * size))
    return zip(starts, parallel.ahead(works, threads, more), strict=True)


def _images(
    blocks: Iterable[tuple[int, Frame]], mapper: Nearest, frames: Drawn
) -> Iterator[tuple[int, bytes]]:
    """Yield the frames that change something, each with its image."""
    mapped = (partial(_compressed, first, mapper.frames(drawn)) for first, drawn in blocks)
    for done, images in enumerate(parallel.ahead(mapped), 1):
        yield from images
        if frames.told:
            frames.told(min(done * BLOCK, frames.count), frames.count)


def _compressed(first: int, mapped: Mapped) -> list[tuple[int, bytes]]:
    return [
        (frame, image(changes, box, SAME))
        for frame, (changes, box) in enumerate(zip(*mapped, strict=True), first)
        if box.any()
    ]
