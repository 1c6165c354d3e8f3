"""`write_clip`: a show's light to the kind of picture that the file's ending names."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from lumenmap.core.errors import InputError
from lumenmap.core.files import whole_file
from lumenmap.core.parallel import ahead
from lumenmap.pictures.encode.gif import Drawn, write_gif
from lumenmap.pictures.endings import Ending, ending_of
from lumenmap.pictures.options import PreviewOptions, check_options
from lumenmap.site import Site

if TYPE_CHECKING:
    from lumenmap.pictures.encode.stills import StillKind

Frame = NDArray[np.uint8]
Light = NDArray[np.float32]
#: Told of frames done and frames in all.
Told = Callable[[int, int], None]

#: Frames drawn at a time.
BLOCK = 16
#: Frames from which the palette is chosen, and the brightest moment.
SAMPLES = 18
#: Attempts to get below a file size.
TRIES = 6
#: Smallest width worth writing, in pixels.
NARROWEST = 160


class Pictures(Protocol):
    """What draws the light of a house's pixels."""

    def frames(self, light: Light) -> Frame:
        """Return (T, H, W, 3) sRGB pictures of (T, N, 3) light."""

    def still(self, light: Light) -> Frame:
        """Return one (H, W, 3) sRGB picture of (N, 3) light."""


@dataclass(frozen=True, slots=True, eq=False)
class Clip:
    """A show to draw: ``light(i, j)`` gives frames i to j of ``count``, (j - i, N, 3) linear.

    Films play with its ``sound``. ``stage`` makes what draws it, in place of the model's picture.
    """

    site: Site
    title: str
    fps: float
    count: int
    light: Callable[[int, int], Light]
    sound: Path | None = None
    stage: Callable[[PreviewOptions], Pictures] | None = None

    def samples(self) -> Light:
        """Return the light of frames spread over the clip."""
        return np.concatenate([self.light(i, i + 1) for i in sample_frames(self.count)])


def sample_frames(count: int) -> list[int]:
    """Return up to `SAMPLES` frame indices spread over a clip."""
    return sorted(set(np.linspace(0, count - 1, min(count, SAMPLES)).astype(int).tolist()))


def write_clip(
    path: Path | str,
    clip: Clip,
    options: PreviewOptions,
    progress: Told | None = None,
    *,
    flush: bool = True,
) -> PreviewOptions:
    """Write a clip; return the options it was written with (``max_mb`` may have narrowed it).

    ``progress`` gets the frames drawn and those in all, now and then. ``flush`` as `whole_file`.

    Raises
    ------
    InputError
        An unknown ending, no frames, a size that can't be met, a path that can't be written.
    """
    path = Path(path)
    ending = ending_of(path)
    options = options.filled(ending)
    if clip.count < 1:
        raise InputError("there are no frames to write", file=path)
    if options.max_mb is not None and not 0.01 <= options.max_mb <= 100_000:
        raise InputError(f"is {options.max_mb:g}; expected 0.01 or more", key="max_mb")
    check_options(ending, options)
    with whole_file(path, flush=flush) as partial:
        for _ in range(TRIES):
            _write(partial, ending, clip, options, progress)
            size = partial.stat().st_size / 1e6
            if options.max_mb is None or size <= options.max_mb:
                return options
            # The size is roughly proportional to the area; a little less, because of the edges.
            narrower = int(options.size[0] * min(0.9, 0.97 * math.sqrt(options.max_mb / size)))
            if narrower < NARROWEST:
                break
            options = options.sized(narrower)
        raise InputError(
            f"{options.max_mb:g} is too small: {path.name} has {size:.2f} MB even at a width of "
            f"{options.size[0]}. Show fewer seconds (`seconds`) or frames/s (`fps`)",
            key="max_mb",
        )


def _write(
    path: Path, ending: Ending, clip: Clip, options: PreviewOptions, progress: Told | None
) -> None:
    view = clip.stage(options) if clip.stage is not None else options.viewed(clip.site)
    # A frame's products are too small for threads: they would wait for each other, and sums would
    # depend on their number.
    with threadpool_limits(1, "blas"):
        _draw(path, ending, clip, options, _Telling(view, clip, progress))


def _draw(
    path: Path, ending: Ending, clip: Clip, options: PreviewOptions, drawing: _Telling
) -> None:
    view = drawing.view
    if ending == ".png" or ending == ".jpg" or ending == ".jpeg":
        _still(path, ".png" if ending == ".png" else ".jpg", clip, options, view)
    elif ending == ".gif":
        write_gif(
            path,
            Drawn(
                lambda i, j: view.frames(clip.light(i, j)), clip.count, clip.fps, drawing.progress
            ),
            palette_from=view.frames(clip.samples()),
            loop=options.loop,
            dither=options.dither,
            flush=False,  # `write_clip` does
        )
    elif ending == ".webp":
        from lumenmap.pictures.encode.video import write_webp

        write_webp(path, drawing.frames(), clip.fps, clip.count, loop=options.loop)
    elif ending == ".apng":
        from lumenmap.pictures.encode.apng import write_apng

        write_apng(path, drawing.frames(), clip.fps, loop=options.loop)
    else:
        from lumenmap.pictures.encode.video import write_video

        with _plain_sound(path, clip) as wav:
            write_video(path, drawing.frames(), clip.fps, ending, wav)


@contextlib.contextmanager
def _plain_sound(path: Path, clip: Clip) -> Iterator[Path | None]:
    """Give a clip's sound as plain WAV next to the film, as long as the film, while it is written.

    The encoder doesn't get the file itself: it would open more kinds of files than sound.
    """
    if clip.sound is None:
        yield None
        return
    from lumenmap.sound.carry import write_wav

    wav = path.with_name(f"{path.name}.wav")
    try:
        write_wav(clip.sound, wav, clip.count / clip.fps)
        yield wav
    finally:
        wav.unlink(missing_ok=True)


@dataclass(frozen=True, slots=True, eq=False)
class _Telling:
    """The frames of a clip as they are drawn, and who is told how many have been taken."""

    view: Pictures
    clip: Clip
    progress: Told | None

    def frames(self) -> Iterator[Frame]:
        """Yield the frames, the next ones being drawn while the last are written."""
        clip = self.clip
        starts = range(0, clip.count, BLOCK)
        taken = 0
        for block in ahead(partial(self._drawn, first) for first in starts):
            yield from block
            taken += len(block)
            if self.progress:
                self.progress(taken, clip.count)

    def _drawn(self, first: int) -> Frame:
        return self.view.frames(self.clip.light(first, min(first + BLOCK, self.clip.count)))


def _still(
    path: Path, kind: StillKind, clip: Clip, options: PreviewOptions, view: Pictures
) -> None:
    from lumenmap.pictures.encode.stills import write_sheet, write_still

    if options.sheet:
        from lumenmap.pictures.moments import show_moment

        if not 2 <= options.sheet <= 60:
            raise InputError(f"is {options.sheet}; expected 2 to 60", key="sheet")
        picked = np.unique(np.linspace(0, clip.count - 1, options.sheet).astype(int)).tolist()
        stills = (view.still(clip.light(i, i + 1)[0]) for i in picked)
        pictures = [(show_moment(i / clip.fps), s) for i, s in zip(picked, stills, strict=True)]
        write_sheet(path, pictures, clip.title, kind)
        return
    if options.at is None:
        samples = clip.samples()
        light = samples[int(samples.sum((1, 2)).argmax())]
    else:
        frame = int(Fraction(options.at) * Fraction(clip.fps)) if options.at >= 0 else -1
        if not 0 <= frame < clip.count:
            raise InputError(
                f"is {options.at:g} s, but the show lasts {clip.count / clip.fps:g} s", key="at"
            )
        light = clip.light(frame, frame + 1)[0]
    write_still(path, view.still(light), title=clip.title, kind=kind)
