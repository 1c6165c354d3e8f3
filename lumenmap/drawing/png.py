"""A drawing as a PNG file."""

from __future__ import annotations

import contextlib
import math
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from lumenmap.drawing.canvas import Area, Dot, Drawing, Point, Stroke, TextLine

if TYPE_CHECKING:
    from PIL import Image, ImageDraw, ImageFont

#: Drawn this many times larger and scaled down, since the library draws without antialiasing.
FINER = 3
#: Fonts with é, ø and £, which the library's own lacks, as systems name them.
WIDER = ("DejaVuSans.ttf", "Arial.ttf", "arial.ttf", "LiberationSans-Regular.ttf", "FreeSans.ttf")


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
            points = [_at(p, scale) for p in mark.points]
            pen.polygon(points, fill=mark.fill)
            if mark.width:
                pen.line(
                    [*points, points[0]], mark.colour, _width(mark.width, scale), joint="curve"
                )
        elif isinstance(mark, Dot):
            (x, y), r = _at(mark.centre, scale), mark.radius * scale
            width = _width(mark.width, scale) if mark.width else 0
            pen.ellipse((x - r, y - r, x + r, y + r), mark.fill or None, mark.colour, width)
        else:
            _text(image, pen, mark, scale)
    whole = (round(drawing.width * dpi / 25.4), round(drawing.height * dpi / 25.4))
    image.resize(whole, Image.Resampling.BOX).save(path, "PNG", dpi=(dpi, dpi))


def _at(point: Point, scale: float) -> Point:
    return point[0] * scale, point[1] * scale


def _width(width: float, scale: float) -> int:
    return max(1, round(width * scale))


def _stroke(pen: ImageDraw.ImageDraw, mark: Stroke, scale: float) -> None:
    points = [_at(p, scale) for p in mark.points]
    width = _width(mark.width, scale)
    if not mark.dash:
        pen.line(points, mark.colour, width, joint="curve")
        return
    for a, b in pairwise(points):
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
def _font(size: int, plain: bool = True) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """Return the library's own font; for letters that it lacks, a wider one that is at hand."""
    from PIL import ImageFont

    size = max(1, size)
    for name in () if plain else WIDER:
        with contextlib.suppress(OSError):
            return ImageFont.truetype(name, size)
    return ImageFont.load_default(size)


def _text(image: Image.Image, pen: ImageDraw.ImageDraw, mark: TextLine, scale: float) -> None:
    from PIL import Image, ImageDraw

    style, (x, y) = mark.style, _at(mark.at, scale)
    font = _font(round(style.size * scale), plain=mark.text.isascii())
    bold = max(1, round(style.size * scale / 30)) if style.bold else 0
    anchor = {"start": "ls", "middle": "ms", "end": "rs"}[style.anchor]

    def write(on: ImageDraw.ImageDraw, at: Point, colour: str, stroke: int) -> None:
        on.text(at, mark.text, colour, font, anchor, stroke_width=stroke, stroke_fill=colour)

    halo = round(style.size * scale / 8) if style.halo else 0
    if not style.rotation:
        if halo:
            write(pen, (x, y), "#ffffff", halo + bold)
        write(pen, (x, y), style.colour, bold)
        return
    reach = round(pen.textlength(mark.text, font) + 2 * style.size * scale)
    layer = Image.new("RGBA", (2 * reach, 2 * reach))
    if halo:
        write(ImageDraw.Draw(layer), (reach, reach), "#ffffff", halo + bold)
    write(ImageDraw.Draw(layer), (reach, reach), style.colour, bold)
    rotated = layer.rotate(style.rotation, Image.Resampling.BICUBIC)
    image.paste(rotated, (round(x) - reach, round(y) - reach), rotated)
