"""A picture, or the frames of an animated one, to be sampled at places and times."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError

#: A roofline has some hundred pixels across: more columns would only cost memory.
MAX_WIDTH = 640
MAX_FRAMES = 600
_MAX_PIXELS = 40_000_000
#: A frame without a duration is shown this long (s), as browsers do.
_DEFAULT_FRAME = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Raster:
    """Frames of a picture.

    Attributes
    ----------
    srgb
        (F, H, W, 3) uint8 sRGB, transparent parts black.
    ends
        (F,) s: when each frame ends, from the start of the first.
    name
        The file's name.
    kept
        What `lumenmap.motion.kept` keeps with the picture.
    """

    srgb: NDArray[np.uint8]
    ends: NDArray[np.float64]
    name: str
    kept: dict[Any, Any] = field(default_factory=dict, init=False, repr=False)

    def __reduce__(self) -> tuple[Any, ...]:
        """Travel without what is kept."""
        return Raster, (self.srgb, self.ends, self.name)

    def __str__(self) -> str:
        return self.name


def load(name: str, folder: Path | None) -> Raster:
    """Read a picture that lies in ``folder`` or below it.

    Raises
    ------
    InputError
        No folder to look in, a path outside it, no such file, or not a picture.
    """
    from PIL import Image, ImageSequence, UnidentifiedImageError

    if folder is None:
        raise InputError(f'is "{name}", but there is no folder to read pictures from')
    path = folder / name
    if not path.resolve().is_relative_to(folder.resolve()):
        raise InputError(f'is "{name}", outside the folder; put the picture next to the show')
    try:
        with Image.open(path) as image:
            if image.width * image.height > _MAX_PIXELS:
                raise InputError(f'"{name}" is too large: {image.width} × {image.height}')
            if getattr(image, "n_frames", 1) > MAX_FRAMES:
                raise InputError(f'"{name}" has over {MAX_FRAMES} frames')
            height = max(1, round(image.height * min(1.0, MAX_WIDTH / image.width)))
            size = (min(image.width, MAX_WIDTH), min(height, 4 * MAX_WIDTH))
            frames, times = [], []
            for frame in ImageSequence.Iterator(image):
                black = Image.new("RGBA", frame.size, "black")
                black.alpha_composite(frame.convert("RGBA"))
                frames.append(np.asarray(black.convert("RGB").resize(size, Image.Resampling.BOX)))
                times.append((frame.info.get("duration") or 0) / 1000 or _DEFAULT_FRAME)
    except FileNotFoundError:
        raise InputError(f'no picture "{name}" in {folder}') from None
    except InputError:
        raise
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError):
        raise InputError(f'"{name}" isn\'t a readable picture') from None
    return Raster(np.stack(frames), np.cumsum(times), name)


def sample(
    frames: NDArray[np.float32], frame: NDArray[np.intp], u: NDArray[Any], v: NDArray[Any]
) -> NDArray[np.float32]:
    """Return bilinear samples of a picture's frames.

    Parameters
    ----------
    frames
        (F, H, W, 3).
    frame
        (T, 1) the frame at each time.
    u, v
        (T, N) pixels of the picture from the left and from the top; 0 is the middle of the first.

    Returns
    -------
    (T, N, 3) float32
        0 outside the picture.
    """
    rows, columns = frames.shape[1:3]
    left, top = np.floor(u).astype(np.int64), np.floor(v).astype(np.int64)
    right_part, low_part = (u - left).astype(np.float32), (v - top).astype(np.float32)
    inside = (u >= -0.5) & (u <= columns - 0.5) & (v >= -0.5) & (v <= rows - 0.5)
    total = np.zeros((*u.shape, 3), np.float32)
    for dx in (0, 1):
        for dy in (0, 1):
            share = (right_part if dx else 1 - right_part) * (low_part if dy else 1 - low_part)
            column = np.clip(left + dx, 0, columns - 1)
            row = np.clip(top + dy, 0, rows - 1)
            total += frames[frame, row, column] * (share * inside)[..., None]
    return total
