"""Wishes that no picture, or not this kind of picture, can meet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lumenmap.core.errors import InputError
from lumenmap.pictures.preview import LARGEST

if TYPE_CHECKING:
    from lumenmap.pictures.clip import ClipOptions


def check_wishes(ending: str, options: ClipOptions) -> None:
    """Refuse wishes that the kind of picture can't meet, rather than pass over them.

    Raises
    ------
    InputError
        A sheet or a moment that is no ``.png``, dither that is no ``.gif``, a page held to a size.
    """
    wishes = (
        ("--sheet", options.sheet, ".png"),
        ("--at", options.at is not None, ".png"),
        ("--dither", options.dither, ".gif"),
    )
    for key, asked, kind in wishes:
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
