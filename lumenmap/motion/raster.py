"""A picture, or the frames of an animated one, to be sampled at places and times."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError

#: A roof line has some hundred pixels across: more columns would only cost memory.
WIDEST = 640
MOST_FRAMES = 600
_MOST_POINTS = 40_000_000
#: A frame that names no duration is shown this long (s), as browsers do.
_DEFAULT_FRAME = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Raster:
    """Frames of a picture.

    Attributes
    ----------
    srgb
        (F, H, W, 3) uint8 sRGB, transparent parts black.
    ends
        (F,) s: when each frame ends, counted from the first one's start.
    name
        The file's name.
    """

    srgb: NDArray[np.uint8]
    ends: NDArray[np.float64]
    name: str

    def __str__(self) -> str:
        return self.name


def load(name: str, folder: Path | None) -> Raster:
    """Read a picture that lies in ``folder`` or below it.

    Raises
    ------
    InputError
        No folder to look in, a path that leaves it, no such file, or no picture.
    """
    from PIL import Image, ImageSequence, UnidentifiedImageError

    if folder is None:
        raise InputError(f'is "{name}", but there is no folder here to read pictures from')
    path = folder / name
    if not path.resolve().is_relative_to(folder.resolve()):
        raise InputError(f'is "{name}", outside the folder; put the picture beside the show')
    try:
        with Image.open(path) as image:
            if image.width * image.height > _MOST_POINTS:
                raise InputError(f'"{name}" is too large: {image.width} × {image.height}')
            if getattr(image, "n_frames", 1) > MOST_FRAMES:
                raise InputError(f'"{name}" has over {MOST_FRAMES} frames')
            height = max(1, round(image.height * min(1.0, WIDEST / image.width)))
            size = (min(image.width, WIDEST), min(height, 4 * WIDEST))
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
        raise InputError(f'"{name}" is no picture that can be read') from None
    return Raster(np.stack(frames), np.cumsum(times), name)
