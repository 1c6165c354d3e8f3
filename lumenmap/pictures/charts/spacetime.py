"""Charts of light over distance and time, and sheets of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from lumenmap.core import units
from lumenmap.drawing.ticks import ticks
from lumenmap.pictures.drawn.tone import STEPS, tone_table

F = NDArray[np.float64]
Light = NDArray[np.float32]

PAPER, INK, FAINT = (16, 18, 24), (232, 234, 240), (140, 146, 160)
_CHART = (430, 450)
_MARGIN = 14


@lru_cache(maxsize=8)
def font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """Return the typeface of all sheets."""
    return ImageFont.load_default(size)


def toned(light: Light) -> NDArray[np.uint8]:
    """Return sRGB codes of linear light, by the tone curve of the previews."""
    return _tones()[(np.clip(light, 0, 1) * (STEPS * 0.999)).astype(np.uint16)]


@cache
def _tones() -> NDArray[np.uint8]:
    return tone_table()


def spacetime(light: Light, metres: F, size: tuple[int, int] = _CHART) -> Image.Image:
    """Draw light over distance (to the right) and time (downwards).

    Parameters
    ----------
    light
        (T, N, 3) linear light.
    metres
        (N,) position of each pixel; where no pixel is near, the chart stays dark.
    size
        Width and height of the chart in pixels.
    """
    width, height = size
    order = np.argsort(metres, kind="stable")
    at = metres[order]
    columns = at[0] + (np.arange(width) + 0.5) / width * max(at[-1] - at[0], 1e-9)
    right = np.clip(np.searchsorted(at, columns), 1, max(len(at) - 1, 1))
    left = right - 1
    right = np.minimum(right, len(at) - 1)
    nearest = np.where(columns - at[left] < at[right] - columns, left, right)
    gap = np.abs(at[nearest] - columns) > 3 * np.median(np.diff(at)) if len(at) > 2 else None
    rows = np.minimum((np.arange(height) + 0.5) / height * len(light), len(light) - 1).astype(int)
    shown = toned(light[rows][:, order[nearest]])
    if gap is not None:
        shown[:, gap] = PAPER
    return Image.fromarray(shown)


@dataclass(frozen=True, slots=True, eq=False)
class LightOverTime:
    """Linear light (T, N, 3) that lasts ``seconds``, and the pixels' positions (N,) in metres."""

    light: Light
    metres: F
    seconds: float


def effect_tile(
    title: str,
    summary: str,
    shown: LightOverTime,
    *,
    unit: str,
    stills: Sequence[NDArray[np.uint8]],
) -> Image.Image:
    """Draw one effect: a chart with axes, and next to it moments on the house.

    ``unit`` is that of the distance; ``stills`` are (H, W, 3) sRGB pictures of one size.
    """
    still_height, still_width = stills[0].shape[:2]
    scale = (_CHART[1] - 2 * 8) / (len(stills) * still_height)
    small = (round(still_width * scale), round(still_height * scale))
    left, top = 62, 70
    width = left + _CHART[0] + 16 + small[0] + _MARGIN
    tile = Image.new("RGB", (width, top + _CHART[1] + 48), PAPER)
    draw = ImageDraw.Draw(tile)
    draw.text((_MARGIN, 10), title, INK, font(24))
    draw.text((_MARGIN, 42), summary, FAINT, font(15))
    tile.paste(spacetime(shown.light, shown.metres), (left, top))
    for i, still in enumerate(stills):
        picture = Image.fromarray(still).resize(small, Image.Resampling.LANCZOS)
        tile.paste(picture, (left + _CHART[0] + 16, top + i * (small[1] + 8)))
    _axes(draw, (left, top), float(np.ptp(shown.metres)), shown.seconds, unit)
    return tile


def _axes(
    draw: ImageDraw.ImageDraw, corner: tuple[int, int], metres: float, seconds: float, unit: str
) -> None:
    left, top = corner
    shown = unit if unit in ("m", "ft") else ("ft" if unit == "in" else "m")
    reach = metres / float(units.LENGTH[shown])
    foot = top + _CHART[1]
    for value in ticks(0, reach):
        x = left + value / max(reach, 1e-9) * _CHART[0]
        draw.line([(x, foot), (x, foot + 5)], FAINT)
        draw.text((x, foot + 8), f"{value:g}", FAINT, font(13), anchor="ma")
    draw.text(
        (left + _CHART[0], foot + 26), f"{shown} along the wire", FAINT, font(13), anchor="ra"
    )
    for value in ticks(0, seconds):
        y = top + value / seconds * _CHART[1]
        draw.line([(left - 5, y), (left, y)], FAINT)
        draw.text((left - 9, y), f"{value:g} s", FAINT, font(13), anchor="rm")


def stack(tiles: Sequence[Image.Image], *, columns: int = 1) -> Image.Image:
    """Arrange tiles of one width in columns, row by row."""
    width = max(tile.width for tile in tiles)
    rows = [tiles[i : i + columns] for i in range(0, len(tiles), columns)]
    heights = [max(tile.height for tile in row) for row in rows]
    sheet = Image.new("RGB", (width * min(columns, len(tiles)), sum(heights)), PAPER)
    y = 0
    for row, height in zip(rows, heights, strict=True):
        for i, tile in enumerate(row):
            sheet.paste(tile, (i * width, y))
        y += height
    return sheet
