"""The camera of marks, by the focal length in a photograph's file, or without one that misleads."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.lens.found import Found, Search
from lumenmap.camera.lens.pose import find_shot
from lumenmap.camera.marks.photo import Photo
from lumenmap.core.errors import InputError

F = NDArray[np.float64]

#: A file's focal length isn't believed if without it so many marks' worth of misfit is gone, all
#: marks taken together [K]: one wrong mark of few is made to fit by another lens more easily.
GAIN, FEWEST = 2.0, 7
#: And if the lens is another one by this factor at least: a little longer fits noise.
OTHER_LENS = 1.1


class Camera(NamedTuple):
    """A camera, how it was looked for, and the file's focal length (mm) that it contradicts."""

    found: Found
    search: Search
    unlike: float | None = None


def camera_of(xyz: F, places: F, photo: Photo, noise: float, lens: float | None = None) -> Camera:
    """Return the camera that sees points (K, 3) at places (K, 2), with a ``lens`` if it is known.

    A photograph that was cut keeps the focal length of the whole: its right marks don't fit then.

    Raises
    ------
    InputError
        No camera is found.
    """
    own = Search(photo.size, lens or photo.lens, noise)
    by_file, error = _tried(xyz, places, own)
    misfit = np.inf if by_file is None else by_file.cost * len(xyz)
    if photo.lens and not lens and len(xyz) >= FEWEST and misfit > GAIN:
        free = Search(photo.size, None, noise)
        other, _ = _tried(xyz, places, free)
        if (
            other is not None
            and abs(np.log(other.shot.lens / photo.lens)) > np.log(OTHER_LENS)
            and misfit - other.cost * len(xyz) > GAIN
        ):
            return Camera(other, free, photo.lens)
    if by_file is None:
        raise error
    return Camera(by_file, own)


def _tried(xyz: F, places: F, search: Search) -> tuple[Found | None, InputError]:
    try:
        return find_shot(xyz, places, search), InputError("")
    except InputError as error:
        return None, error
