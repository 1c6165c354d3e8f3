"""Reading a photograph: upright, linear, and the focal length that its file tells."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.images import as_rgb, opened

#: EXIF tags (CIPA DC-008): the Exif part, focal length in 35 mm film, and orientation.
_EXIF, _FOCAL_35, _ORIENTATION = 0x8769, 0xA405, 0x0112
#: The diagonal of 35 mm film, which that focal length goes by (CIPA DC-008), and its width (mm).
_DIAGONAL, _WIDTH = 43.267, 36.0
#: Smallest photograph that a camera can be found from.
SMALLEST = 320
#: A photograph shows nothing if all but a hundredth is darker, or lighter, than these codes [C].
_BLACK, _WHITE = 24, 248


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """A photograph: ``codes`` (H, W, 3) sRGB, upright; ``lens`` in mm on full frame, if known."""

    codes: NDArray[np.uint8]
    lens: float | None

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.codes.shape[1], self.codes.shape[0]

    @property
    def doubt(self) -> str:
        """Why hardly anything can be seen on it; empty if it shows something."""
        some = self.codes[::4, ::4]
        if np.quantile(some.max(-1), 0.99) < _BLACK:
            return "is nearly black; take one at dusk, while the house can still be seen"
        if np.quantile(some.min(-1), 0.01) > _WHITE:
            return "is nearly white; take one that isn't overexposed"
        return ""


def read_photo(path: Path) -> Photo:
    """Read a photograph.

    Raises
    ------
    InputError
        None there, not a picture, or too small.
    """
    from PIL import ImageOps

    try:
        with opened(path) as image:
            lens = _lens(image)
            upright = as_rgb(ImageOps.exif_transpose(image))
            codes = np.asarray(upright)
    except FileNotFoundError:
        raise InputError("no such photograph", file=path) from None
    photo = Photo(codes, lens)
    if min(photo.size) < SMALLEST:
        w, h = photo.size
        raise InputError(f"is {w} × {h} pixels; expected {SMALLEST} or more each way", file=path)
    return photo


def _lens(image: Any) -> float | None:
    """Return the focal length by the longer side, from one that goes by the diagonal."""
    try:
        given = float(image.getexif().get_ifd(_EXIF).get(_FOCAL_35, 0))
    except (TypeError, ValueError, KeyError):
        return None
    if not 8 <= given <= 800:
        return None
    w, h = image.size
    return float(given * np.hypot(w, h) / max(w, h) * _WIDTH / _DIAGONAL)
