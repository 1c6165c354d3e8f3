"""A drawing as a PNG picture."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from lumenmap.drawing.canvas import Area, Dot, Drawing, Point, Stroke, Words

if TYPE_CHECKING:
    from PIL import Image, ImageDraw, ImageFont

#: Drawn this many times finer and scaled down, since the library draws hard edges.
FINER = 3


def png(drawing: Drawing, path: Path, dpi: float = 150) -> None:
    """Write the drawing to ``path``."""
    from PIL import Image, ImageDraw

    scale = dpi / 25.4 * FINER
    size = (round(drawing.width * scale), round(drawing.height * scale))
    image = Image.new("RGB", size, "#ffffff")
    pen = ImageDraw.Draw(image)
    for mark in drawing.marks:
        if isinstance(mark, Stroke):
            _stroke(pen, mark, scale)
        elif isinstance(mark, Area):
            spots = [_at(p, scale) for p in mark.points]
            pen.polygon(spots, fill=mark.fill)
            if mark.width:
                pen.line([*spots, spots[0]], mark.colour, _width(mark.width, scale), joint="curve")
        elif isinstance(mark, Dot):
            (x, y), r = _at(mark.centre, scale), mark.radius * scale
            width = _width(mark.width, scale) if mark.width else 0
            pen.ellipse((x - r, y - r, x + r, y + r), mark.fill or None, mark.colour, width)
        else:
            _words(image, pen, mark, scale)
    whole = (round(drawing.width * dpi / 25.4), round(drawing.height * dpi / 25.4))
    image.resize(whole, Image.Resampling.BOX).save(path, "PNG", dpi=(dpi, dpi))


def _at(point: Point, scale: float) -> Point:
    return point[0] * scale, point[1] * scale


def _width(width: float, scale: float) -> int:
    return max(1, round(width * scale))


def _stroke(pen: ImageDraw.ImageDraw, mark: Stroke, scale: float) -> None:
    spots = [_at(p, scale) for p in mark.points]
    width = _width(mark.width, scale)
    if not mark.dash:
        pen.line(spots, mark.colour, width, joint="curve")
        return
    for a, b in pairwise(spots):
        length = math.dist(a, b)
        step = mark.dash * scale
        for i in range(0, math.ceil(length / step), 2):
            pen.line(
                [
                    _between(a, b, i * step / length),
                    _between(a, b, min(1.0, (i + 1) * step / length)),
                ],
                mark.colour,
                width,
            )


def _between(a: Point, b: Point, part: float) -> Point:
    return a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])


@lru_cache(maxsize=64)
def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    from PIL import ImageFont

    return ImageFont.load_default(max(1, size))


def _words(image: Image.Image, pen: ImageDraw.ImageDraw, mark: Words, scale: float) -> None:
    from PIL import Image, ImageDraw

    font = _font(round(mark.size * scale))
    halo = round(mark.size * scale / 8) if mark.halo else 0
    bold = max(1, round(mark.size * scale / 30)) if mark.bold else 0
    anchor = {"start": "ls", "middle": "ms", "end": "rs"}[mark.anchor]
    x, y = _at(mark.at, scale)
    if not mark.turn:
        if halo:
            pen.text(
                (x, y),
                mark.text,
                "#ffffff",
                font,
                anchor,
                stroke_width=halo + bold,
                stroke_fill="#ffffff",
            )
        pen.text(
            (x, y), mark.text, mark.colour, font, anchor, stroke_width=bold, stroke_fill=mark.colour
        )
        return
    reach = round(pen.textlength(mark.text, font) + 2 * mark.size * scale)
    layer = Image.new("RGBA", (2 * reach, 2 * reach))
    ImageDraw.Draw(layer).text(
        (reach, reach),
        mark.text,
        mark.colour,
        font,
        anchor,
        stroke_width=bold,
        stroke_fill=mark.colour,
    )
    turned = layer.rotate(mark.turn, Image.Resampling.BICUBIC)
    image.paste(turned, (round(x) - reach, round(y) - reach), turned)
