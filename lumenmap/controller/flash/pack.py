"""Packing with or without loss, whichever comes out smaller."""

from __future__ import annotations

from lumenmap.controller.files.frameset import FrameSet
from lumenmap.controller.flash.image import flash_image
from lumenmap.controller.flash.loss import Loss, darken


def pack(frames: FrameSet, loss: int = 0) -> tuple[bytes, Loss]:
    """Return the flash image and what it lost, at most ``loss`` code steps.

    Held codes break the smooth motion that the predictors live on, so a small loss can cost more
    than it saves; then the show is kept as it was.
    """
    kept, lost = darken(frames, loss)
    image = flash_image(kept, loss=loss)
    if lost.most:
        exact = flash_image(frames)
        if len(exact) <= len(image):
            return exact, Loss(0, 0.0, 0.0)
    return image, lost
