"""The packed image for a microcontroller's flash memory."""

from __future__ import annotations

from pathlib import Path

from lumenmap.controller.files.frameset import FrameSet
from lumenmap.controller.flash.loss import Loss
from lumenmap.controller.flash.pack import pack
from lumenmap.controller.flash.sources import decoder_files

SUFFIX = ".lmfi"


def flash(frames: FrameSet, path: Path, /, *, loss: int = 0) -> Loss:
    """Packed image for 4 MB of flash; its C99 decoder needs 2 KB and a frame buffer.

    ``loss`` is the largest error of a code, in steps; 0 for none. A lossy code is never brighter
    than the true one, so the budgets still hold.
    """
    image, lost = pack(frames, loss)
    path.write_bytes(image)
    return lost


def beside(frames: FrameSet) -> dict[str, bytes]:
    """Return the decoder's sources."""
    del frames  # they are the same for every show
    return decoder_files()
