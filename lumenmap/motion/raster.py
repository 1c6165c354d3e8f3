"""A picture, or the frames of an animated one, to be sampled at places and times."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.motion.kept import read_only

if TYPE_CHECKING:
    from PIL.Image import Image

#: A roofline has some hundred pixels across: more columns would only cost memory.
MAX_WIDTH = 640
#: All frames of a picture as they are kept (bytes); those of a long and tall one are made smaller.
_MOST_KEPT = 200_000_000
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

    def __post_init__(self) -> None:
        """Make it read-only: several layers may show it."""
        object.__setattr__(self, "srgb", read_only(self.srgb))
        object.__setattr__(self, "ends", read_only(self.ends))

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
    if folder is None:
        raise InputError(f'is "{name}", but there is no folder to read pictures from')
    try:
        path = (folder / name).resolve()
    except (ValueError, OSError, RuntimeError) as error:  # a NUL, a loop of links
        raise InputError(f'is "{name}", which isn\'t a path: {error}') from None
    if not path.is_relative_to(folder.resolve()):
        raise InputError(f'is "{name}", outside the folder; put the picture next to the show')
    from lumenmap.core.images import opened

    try:
        with opened(path, name) as image:
            frames, times = _frames(image)
    except FileNotFoundError:
        raise InputError(f'no picture "{name}" in {folder}') from None
    return Raster(frames, np.cumsum(times), name)


def _frames(image: Image) -> tuple[NDArray[np.uint8], list[float]]:
    """Return the frames (F, H, W, 3) over black, made small one by one, and how long each lasts."""
    from PIL import Image as Pillow
    from PIL import ImageSequence

    from lumenmap.core.images import as_rgb

    count = getattr(image, "n_frames", 1)
    wide, high = _small(image.width, image.height, count)
    out, times = np.empty((count, high, wide, 3), np.uint8), []
    for i, frame in enumerate(ImageSequence.Iterator(image)):
        if frame.has_transparency_data:
            clear = frame.convert("RGBA")
            plain = Pillow.new("RGBA", frame.size, "black")
            plain.alpha_composite(clear)
            del clear
        else:
            plain = frame
        out[i] = np.asarray(as_rgb(plain).resize((wide, high), Pillow.Resampling.BOX))
        times.append((frame.info.get("duration") or 0) / 1000 or _DEFAULT_FRAME)
    return out[: len(times)], times


def _small(wide: int, high: int, count: int) -> tuple[int, int]:
    """Return the size at which frames are kept: no wider than is seen, and not too much in all."""
    height = max(1, round(high * min(1.0, MAX_WIDTH / wide)))
    wide, high = min(wide, MAX_WIDTH), min(height, 4 * MAX_WIDTH)
    scale = min(1.0, math.sqrt(_MOST_KEPT / (3 * count * wide * high)))
    return max(1, int(wide * scale)), max(1, int(high * scale))


def sample(
    frames: NDArray[np.uint8],
    table: NDArray[np.float32],
    frame: NDArray[np.intp],
    u: NDArray[Any],
    v: NDArray[Any],
) -> NDArray[np.float32]:
    """Return bilinear samples of a picture's frames.

    Parameters
    ----------
    frames
        (F, H, W, 3) uint8.
    table
        (256,) the light of each code; looked up after the gather, as light takes four times the
        room.
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
            total += table[frames[frame, row, column]] * (share * inside)[..., None]
    return total
