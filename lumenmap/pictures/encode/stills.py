"""Stills: one moment, or a contact sheet of several."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.files import whole_file

Frame = NDArray[np.uint8]
StillKind = Literal[".png", ".jpg"]

#: Space between the pictures of a sheet, and under them for the captions, in pixels.
GAP, CAPTION = 12, 26
#: Quality of JPEG, as its library counts it, 0 to 95 [C].
QUALITY = 92
PAPER, INK, FAINT = (18, 19, 22), (232, 230, 224), (150, 150, 152)


def write_still(
    path: Path | str, picture: Frame, *, title: str = "", kind: StillKind = ".png"
) -> None:
    """Write one (H, W, 3) uint8 picture, whatever the path's ending.

    Raises
    ------
    InputError
        A path that can't be written.
    """
    from imageio.v3 import imwrite
    from PIL.PngImagePlugin import PngInfo

    if kind == ".jpg":
        with whole_file(path) as partial:
            # Small lamps are the picture: their colours aren't reduced to half the size.
            imwrite(
                partial,
                np.ascontiguousarray(picture),
                extension=".jpg",
                plugin="pillow",
                quality=QUALITY,
                subsampling=0,
                optimize=True,
            )
        return
    info = PngInfo()
    if title:
        info.add_itxt("Title", title)
    with whole_file(path) as partial:
        imwrite(
            partial,
            np.ascontiguousarray(picture),
            extension=".png",
            plugin="pillow",
            pnginfo=info,
            # Trying all ways to compress it takes ten times as long, for a tenth of the size.
        )


def sheet_columns(count: int) -> int:
    """Return the number of columns of a sheet: about square, with few gaps.

    >>> [sheet_columns(n) for n in (2, 3, 4, 6, 8, 9, 10, 12)]
    [2, 3, 2, 3, 4, 3, 5, 4]
    """
    square = math.isqrt(count - 1) + 1
    return min(square, square + 1, key=lambda columns: -count % columns)


def write_sheet(
    path: Path | str,
    pictures: Sequence[tuple[str, Frame]],
    title: str,
    kind: StillKind = ".png",
) -> None:
    """Write a contact sheet: (caption, picture) in reading order under a title."""
    from PIL import Image, ImageDraw, ImageFont  # the typeface takes a while to load

    height, width = pictures[0][1].shape[:2]
    columns = sheet_columns(len(pictures))
    rows = -(-len(pictures) // columns)
    head = 3 * CAPTION // 2
    size = (GAP + columns * (width + GAP), head + GAP + rows * (height + CAPTION + GAP))
    sheet = Image.new("RGB", size, PAPER)
    draw = ImageDraw.Draw(sheet)
    small, large = (ImageFont.load_default(size=n) for n in (14, 20))
    draw.text((GAP, GAP), title, INK, font=large)
    for n, (caption, picture) in enumerate(pictures):
        x = GAP + n % columns * (width + GAP)
        y = head + GAP + n // columns * (height + CAPTION + GAP)
        sheet.paste(Image.fromarray(np.ascontiguousarray(picture)), (x, y))
        draw.text((x + 2, y + height + 5), caption, FAINT, font=small)
    write_still(path, np.asarray(sheet), kind=kind)
