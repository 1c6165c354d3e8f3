"""Pictures that stand: one moment, or a contact sheet of many."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from lumenmap.core.files import whole_file

Frame = NDArray[np.uint8]

#: Space between the pictures of a sheet and under them for the words, in picture elements.
GAP, WORDS = 12, 26
PAPER, INK, FAINT = (18, 19, 22), (232, 230, 224), (150, 150, 152)


def write_still(path: Path | str, frame: Frame, *, title: str = "") -> None:
    """Write one (H, W, 3) uint8 picture as PNG."""
    from PIL.PngImagePlugin import PngInfo

    told = PngInfo()
    if title:
        told.add_itxt("Title", title)
    with whole_file(path) as beside:
        image = Image.fromarray(np.ascontiguousarray(frame))
        image.save(beside, format="PNG", pnginfo=told, optimize=True)


def sheet_columns(count: int) -> int:
    """Return the columns of a sheet: about square, with few empty places.

    >>> [sheet_columns(n) for n in (2, 3, 4, 6, 8, 9, 10, 12)]
    [2, 3, 2, 3, 4, 3, 5, 4]
    """
    square = math.isqrt(count - 1) + 1
    return min(square, square + 1, key=lambda columns: -count % columns)


def write_sheet(path: Path | str, pictures: Sequence[tuple[str, Frame]], title: str) -> None:
    """Write a contact sheet: (words, picture) in reading order under a title."""
    height, width = pictures[0][1].shape[:2]
    columns = sheet_columns(len(pictures))
    rows = -(-len(pictures) // columns)
    head = 3 * WORDS // 2
    size = (GAP + columns * (width + GAP), head + GAP + rows * (height + WORDS + GAP))
    sheet = Image.new("RGB", size, PAPER)
    draw = ImageDraw.Draw(sheet)
    small, large = (ImageFont.load_default(size=n) for n in (14, 20))
    draw.text((GAP, GAP), title, INK, font=large)
    for n, (words, picture) in enumerate(pictures):
        x = GAP + n % columns * (width + GAP)
        y = head + GAP + n // columns * (height + WORDS + GAP)
        sheet.paste(Image.fromarray(np.ascontiguousarray(picture)), (x, y))
        draw.text((x + 2, y + height + 5), words, FAINT, font=small)
    with whole_file(path) as beside:
        sheet.save(beside, format="PNG", optimize=True)
