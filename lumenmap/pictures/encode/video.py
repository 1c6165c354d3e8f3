"""MP4 and WebM by way of ffmpeg (the extra ``video``), and animated WebP by Pillow."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.extras import install
from lumenmap.core.files import whole_file

Frame = NDArray[np.uint8]

#: Encoder and its options per ending. Constant quality; yuv420p is what every phone plays.
ENCODERS = {
    ".mp4": ("libx264", ["-crf", "19", "-preset", "medium", "-movflags", "+faststart"]),
    ".webm": ("libvpx-vp9", ["-crf", "30", "-b:v", "0", "-row-mt", "1", "-cpu-used", "4"]),
}


def write_video(path: Path | str, frames: Iterable[Frame], fps: float, ending: str) -> int:
    """Write (H, W, 3) uint8 frames as ``.mp4`` or ``.webm``; return how many.

    An odd last row or column is left out: the format wants even sizes.

    Raises
    ------
    InputError
        No frames, ffmpeg not installed or not willing, or a path that can't be written.
    """
    try:
        from imageio_ffmpeg import write_frames
    except ImportError:
        raise InputError(
            f"{ending} needs ffmpeg: {install('video')}; or write .gif or .webp",
            file=path,
        ) from None
    stream = iter(frames)
    first = next(stream, None)
    if first is None:
        raise InputError("there are no frames to write", file=path)
    height, width = (n - n % 2 for n in first.shape[:2])
    codec, options = ENCODERS[ending]
    count = 0
    with whole_file(path) as beside:
        # ffmpeg tells the container by the ending.
        named = beside.with_name(beside.name + ending)
        writer = write_frames(
            str(named),
            (width, height),
            fps=fps,
            codec=codec,
            macro_block_size=1,
            output_params=options,
            ffmpeg_log_level="error",
        )
        try:
            writer.send(None)
            for frame in itertools.chain([first], stream):
                writer.send(np.ascontiguousarray(frame[:height, :width]))
                count += 1
            writer.close()
            named.replace(beside)
        except OSError as error:
            last = str(error).strip().splitlines()[-1:] or ["no reason given"]
            raise InputError(f"ffmpeg could not write it: {last[0][:200]}", file=path) from error
        finally:
            writer.close()
            named.unlink(missing_ok=True)
    return count


def write_webp(
    path: Path | str, frames: Iterable[Frame], fps: float, count: int, *, loop: int = 0
) -> int:
    """Write ``count`` (H, W, 3) uint8 frames as an animated WebP; return how many.

    Raises
    ------
    InputError
        No frames, or a path that can't be written.
    """
    from PIL import Image

    stream = iter(frames)
    first = next(stream, None)
    if first is None:
        raise InputError("there are no frames to write", file=path)
    ends = np.round(1000 * np.arange(count + 1) / fps).astype(int)

    def images() -> Iterator[Image.Image]:
        for frame in stream:
            yield Image.fromarray(np.ascontiguousarray(frame))

    with whole_file(path) as beside:
        Image.fromarray(np.ascontiguousarray(first)).save(
            beside,
            format="WEBP",
            save_all=True,
            append_images=images(),
            loop=loop,
            duration=np.diff(ends).tolist(),
            quality=82,
            method=2,
            allow_mixed=False,
        )
    return count
