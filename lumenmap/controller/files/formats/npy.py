"""NumPy's own array file, version 1.0."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from lumenmap.controller.files.frameset import FrameSet

SUFFIX = ".npy"


def npy(frames: FrameSet, path: Path, /) -> None:
    """Array of (frames, pixels, channels) codes for numpy.load, pixels in wiring order."""
    with path.open("wb") as file:  # given a name, numpy.save would add a suffix
        np.save(file, np.ascontiguousarray(frames.codes), allow_pickle=False)
