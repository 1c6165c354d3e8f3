"""`ClipOptions`: how a picture looks, and which options its kind of file can take."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from lumenmap.core.errors import InputError
from lumenmap.pictures.light.preview import LARGEST
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.view import View


@dataclass(frozen=True, slots=True)
class ClipOptions:
    """How a clip looks.

    Attributes
    ----------
    width, height
        Picture elements; a height of 0 means 9/16 of the width.
    view, look
        From where, and what is round the house.
    loop
        Times to play; 0 for ever.
    dither
        GIF only: mix neighbouring colours by a pattern that stands still.
    max_mb
        The file may be no larger (10⁶ bytes); the picture is made smaller until it is not.
    at
        PNG only: the moment (s); by default the brightest.
    sheet
        PNG only: this many moments on one sheet in place of one.
    cache
        Keep the light transport beside the house file.
    """

    width: int = 640
    height: int = 0
    view: str | View | None = None
    look: Look = field(default_factory=Look)
    loop: int = 0
    dither: bool = False
    max_mb: float | None = None
    at: float | None = None
    sheet: int = 0
    cache: bool = True

    @property
    def tall(self) -> int:
        """The height, worked out if it is 0."""
        return self.height or round(self.width * 9 / 16)

    def sized(self, width: int) -> ClipOptions:
        """Return the options for another width, the shape kept."""
        height = round(self.height * width / self.width) if self.height else 0
        return replace(self, width=width, height=height)


def check_options(ending: str, options: ClipOptions) -> None:
    """Refuse options that the kind of picture can't meet, rather than ignore them.

    Raises
    ------
    InputError
        A sheet or a moment that is no ``.png``, dither that is no ``.gif``, a page held to a size.
    """
    limited = (
        ("--sheet", options.sheet, ".png"),
        ("--at", options.at is not None, ".png"),
        ("--dither", options.dither, ".gif"),
    )
    for key, asked, kind in limited:
        if asked and ending != kind:
            raise InputError(f"is for {kind} files, not for {ending}", key=key)
    if ending == ".html" and options.max_mb is not None:
        raise InputError("is not for a page, which carries the whole show", key="--max-mb")


def check_width(width: int) -> None:
    """Refuse a width that no picture has.

    Raises
    ------
    InputError
        Outside 64..`LARGEST`.
    """
    if not 64 <= width <= LARGEST:
        raise InputError(f"a picture {width} wide; wanted 64 to {LARGEST}", key="--width")
