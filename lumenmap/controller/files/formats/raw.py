"""Raw frames: the codes alone."""

from __future__ import annotations

from pathlib import Path

from lumenmap.controller.files.frameset import FrameSet

SUFFIX = ".rgb"


def raw(frames: FrameSet, path: Path, /) -> None:
    """Codes alone, frame after frame, pixels in wiring order: seek to frame × pixels × channels."""
    frames.codes.tofile(path)
