"""Sheets of palettes: on a screen, as LEDs show them, on a row of pixels, as eyes see them."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from lumenmap.colour.check import Checked
from lumenmap.colour.dies import Dies
from lumenmap.colour.gamut import brought_in
from lumenmap.colour.palette import Palette
from lumenmap.colour.transfer import to_srgb
from lumenmap.colour.vision import KINDS, seen_by
from lumenmap.pictures.charts.spacetime import FAINT, INK, PAPER, font, stack, toned

F = NDArray[np.float64]

_WIDTH, _HEIGHT = 1240, 196
_LEFT, _STRIP, _PIXELS, _EYES = 14, 262, 612, 940
_STRIP_WIDTH, _EYES_WIDTH = 330, 280
#: Pixels in the row.
_COUNT = 18


def palette_tile(
    palette: Palette, heading: str, dies: Dies, checked: Checked | None = None
) -> Image.Image:
    """Draw one palette.

    Parameters
    ----------
    heading
        The line under its name: the occasion.
    dies
        Those of the pixels that show it.
    checked
        Its findings; adds current and remarks.
    """
    tile = Image.new("RGB", (_WIDTH, _HEIGHT), PAPER)
    draw = ImageDraw.Draw(tile)
    draw.text((_LEFT, 12), palette.name, INK, font(22))
    for i, line in enumerate(textwrap.wrap(heading, 30)[:3]):
        draw.text((_LEFT, 44 + 18 * i), line, FAINT, font(14))
    light = palette((np.arange(_STRIP_WIDTH) + 0.5) / _STRIP_WIDTH).astype(np.float64)
    stops = np.clip([s.rgb for s in palette.stops], 0, 1)
    matched = _matched(light, dies)
    looks = (
        ("on a screen", light, stops),
        ("on the house", matched, _matched(stops, dies)),
        ("with match_screen = false", dies.on_screen(light), dies.on_screen(stops)),
    )
    for i, (name, smooth, held) in enumerate(looks):
        y = 12 + 57 * i
        draw.text((_STRIP, y), name, FAINT, font(12))
        _bar(tile, smooth, (_STRIP, y + 16, _STRIP_WIDTH, 20))
        _bar(tile, _steps(held, _STRIP_WIDTH), (_STRIP, y + 37, _STRIP_WIDTH, 11))
    draw.text((_PIXELS, 12), "a row of pixels at night", FAINT, font(12))
    tile.paste(_row_of_pixels(palette, dies), (_PIXELS, 28))
    for i, kind in enumerate(KINDS):
        y = 12 + 57 * i
        draw.text((_EYES, y), f"seen with {kind}", FAINT, font(12))
        seen = seen_by(kind, matched)
        _bar(
            tile,
            seen[:: _STRIP_WIDTH // _EYES_WIDTH][:_EYES_WIDTH],
            (_EYES, y + 16, _EYES_WIDTH, 30),
        )
    if checked is not None:
        _remarks(draw, palette, checked)
    return tile


def palette_sheet(tiles: Sequence[Image.Image]) -> Image.Image:
    """Stack palette tiles."""
    return stack(tiles)


def _matched(linear: F, dies: Dies) -> F:
    """Return colours as seen when they are mixed for the dies."""
    return dies.on_screen(brought_in(linear, dies.even) * dies.balance)


def _bar(tile: Image.Image, linear: F, box: tuple[int, int, int, int]) -> None:
    x, y, width, height = box
    codes = np.rint(to_srgb(linear) * 255).astype(np.uint8)
    tile.paste(
        Image.fromarray(codes[None]).resize((width, height), Image.Resampling.NEAREST), (x, y)
    )


def _steps(colours: F, width: int) -> F:
    return np.asarray(colours[np.arange(width) * len(colours) // width])


def _row_of_pixels(palette: Palette, dies: Dies) -> Image.Image:
    """Draw pixels in front of a dark board: a bright core, and a halo on the board."""
    colours = _matched(palette((np.arange(_COUNT) + 0.5) / _COUNT).astype(np.float64), dies)
    picture = 0.004 + _spots() @ colours
    return Image.fromarray(toned((1 - np.exp(-picture)).astype(np.float32)))


@cache
def _spots() -> F:
    """Return (H, W, `_COUNT`) the light of each pixel in white: the same for every palette."""
    width, height = 312, 142
    y, x = np.mgrid[0:height, 0:width].astype(np.float64)
    level = np.empty((height, width, _COUNT))
    for i in range(_COUNT):
        core = (x - (i + 0.5) * width / _COUNT) ** 2 + (y - height * 0.32) ** 2
        halo = (x - (i + 0.5) * width / _COUNT) ** 2 / 2 + (y - height * 0.62) ** 2 / 6
        level[..., i] = 2.2 * np.exp(-core / 9) + 0.25 * np.exp(-core / 90)
        level[..., i] += 0.16 * np.exp(-halo / 160)
    return level


def _remarks(draw: ImageDraw.ImageDraw, palette: Palette, checked: Checked) -> None:
    lines = [f"{1000 * checked.mean_amps:.0f} mA per pixel on average"]
    lines += [f"{palette.stops[i].text}: {why}" for i, why in checked.not_shown.items()]
    if checked.confused:
        kinds = sorted({kind for kind, _, _ in checked.confused})
        lines.append(f"some stops look alike with {', '.join(kinds)}")
    wrapped = [part for line in lines for part in textwrap.wrap(line, 36)]
    for i, line in enumerate(wrapped[:5]):
        draw.text((_LEFT, 104 + 16 * i), line, FAINT, font(12))
