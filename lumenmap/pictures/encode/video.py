"""MP4 and WebM by imageio and ffmpeg (the extra ``video``), and animated WebP by Pillow."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.extras import install
from lumenmap.core.files import whole_file

Frame = NDArray[np.uint8]
Film = Literal[".mp4", ".webm"]

#: Encoder and options by ending; constant quality.
ENCODERS: dict[Film, tuple[str, list[str]]] = {
    ".mp4": ("libx264", ["-crf", "19", "-preset", "medium", "-movflags", "+faststart"]),
    ".webm": ("libvpx-vp9", ["-crf", "30", "-b:v", "0", "-row-mt", "1", "-cpu-used", "4"]),
}

SOUND_ENCODERS: dict[Film, str] = {".mp4": "aac", ".webm": "libopus"}


def write_video(
    path: Path | str,
    frames: Iterable[Frame],
    fps: float,
    ending: Film,
    sound: Path | None = None,
) -> int:
    """Write (H, W, 3) uint8 frames as a film; return how many.

    It plays with a ``sound``, a WAV file no longer than the film.

    An odd last row or column is left out, because the format needs even sizes.

    Raises
    ------
    InputError
        No frames, ffmpeg missing or failing, or a path that can't be written.
    """
    stream = iter(frames)
    first = next(stream, None)
    if first is None:
        raise InputError("there are no frames to write", file=path)
    height, width = (n - n % 2 for n in first.shape[:2])
    count = 0
    with whole_file(path) as partial:
        try:
            writer = _writer(partial, fps, ending, sound)
        except ImportError:
            raise InputError(
                f"{ending} needs ffmpeg: {install('video')}; or write .gif or .webp", file=path
            ) from None
        try:
            with writer:
                for frame in itertools.chain([first], stream):
                    writer.append_data(np.ascontiguousarray(frame[:height, :width]))
                    count += 1
        except OSError as error:
            last = str(error).strip().splitlines()[-1:] or ["no reason given"]
            raise InputError(f"ffmpeg couldn't write it: {last[0][:200]}", file=path) from error
    return count


def _writer(path: Path, fps: float, ending: Film, sound: Path | None) -> Any:
    from imageio.v3 import imopen

    codec, options = ENCODERS[ending]
    film = imopen(path, "w", plugin="FFMPEG", extension=ending, legacy_mode=True)
    return film.legacy_get_writer(
        fps=fps,
        codec=codec,
        pixelformat="yuv420p",  # the one that every phone plays
        macro_block_size=1,
        output_params=[*options, "-f", ending[1:]],  # the path may have another ending
        ffmpeg_log_level="error",
        # ffmpeg takes a name such as "a:b" for a protocol, but never one that begins with "/".
        audio_path=None if sound is None else str(sound.absolute()),
        audio_codec=None if sound is None else SOUND_ENCODERS[ending],
    )


def write_webp(
    path: Path | str, frames: Iterable[Frame], fps: float, count: int, *, loop: int = 0
) -> int:
    """Write ``count`` (H, W, 3) uint8 frames as an animated WebP; return how many.

    Raises
    ------
    InputError
        No frames, or a path that can't be written.
    """
    if count < 1:
        raise InputError("there are no frames to write", file=path)
    with whole_file(path) as partial:
        save_webp(partial, iter(frames), fps, count, loop=loop)
    return count


def save_webp(
    out: Path | BytesIO,
    frames: Iterator[Frame],
    fps: float,
    count: int,
    *,
    loop: int = 0,
    quality: int = 82,
) -> None:
    """Save ``count`` frames as an animated WebP, to a file or into memory.

    Pillow takes the frames one by one, where imageio would first collect them all in memory.
    """
    from PIL import Image

    images = (Image.fromarray(np.ascontiguousarray(frame)) for frame in frames)
    ends = np.round(1000 * np.arange(count + 1) / fps).astype(int)
    next(images).save(
        out,
        format="WEBP",
        save_all=True,
        append_images=images,
        loop=loop,
        duration=np.diff(ends).tolist(),
        quality=quality,
        method=2,
        allow_mixed=False,
    )
