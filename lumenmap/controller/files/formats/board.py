"""The packed image beside a player for it: a folder that compiles."""

from __future__ import annotations

from pathlib import Path

from lumenmap.controller.board.folder import MOST_LINES, board_files
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.controller.flash.loss import Loss
from lumenmap.controller.flash.pack import pack
from lumenmap.core.errors import InputError

SUFFIX = ".lmfi"


def board(frames: FrameSet, path: Path, /, *, loss: int = 0) -> Loss:
    """Packed image with the player for your board in C, and a simulator: BOARD.md says how.

    ``loss`` as for the flash image.
    """
    if len(frames.lines) > MOST_LINES:
        raise InputError(
            f"the house has {len(frames.lines)} data lines; the player has room for {MOST_LINES}"
        )
    image, lost = pack(frames, loss)
    path.write_bytes(image)
    return lost


def beside(frames: FrameSet) -> dict[str, bytes]:
    """Return the player's sources."""
    return board_files(frames)
