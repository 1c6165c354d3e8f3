"""Line plots on a `Drawing`: panels with axes, curves, limits and a legend.

Colours are Okabe and Ito's, which people with any kind of colour vision tell apart [M: "Color
Universal Design", 2008].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.drawing.canvas import GREY, INK, PALE, Drawing, Point, TextStyle
from lumenmap.drawing.labels import shortened, width_of
from lumenmap.drawing.ticks import ticks

F = NDArray[np.float64]

COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9")
#: Size of a panel and the room round its axes, mm.
WIDTH, HEIGHT = 240.0, 96.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 19.0, 6.0, 10.0, 13.0
#: Type: the title, the rest; a line of the legend; a sample of a curve in it, mm.
_TITLE, _SMALL, _ROW, _SAMPLE = 3.8, 3.0, 5.0, 6.0
#: How much wider than Helvetica a browser's own font may be, such as DejaVu Sans, and bold too [K].
_WIDE = 1.2


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A named curve through points (n,); a ``limit`` is dashed, with its name next to it."""

    name: str
    x: F
    y: F
    limit: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """One plot: its axes' names, its curves, and the range that the y axis shows."""

    title: str
    x_name: str
    y_name: str
    curves: Sequence[Curve]
    y_range: tuple[float, float]


def line_plot(panels: Sequence[Panel]) -> Drawing:
    """Return panels below each other on one page."""
    page = Drawing(WIDTH, HEIGHT * len(panels))
    for i, panel in enumerate(panels):
        _Axes(page, panel, HEIGHT * i).draw()
    return page


class _Axes:
    """One panel on the page, from ``top`` mm down."""

    def __init__(self, page: Drawing, panel: Panel, top: float) -> None:
        self.page, self.panel, self.top = page, panel, top
        self.legend = _legend([_entry_name(c.name) for c in panel.curves if not c.limit])
        rows = 1 + max((row for _, row in self.legend), default=0)
        low = min(float(c.x.min()) for c in panel.curves)
        high = max(float(c.x.max()) for c in panel.curves)
        self.x_range = (low, high if high > low else low + 1)
        self.box = (
            (_LEFT, top + _TOP + _ROW * rows),
            (WIDTH - _RIGHT, top + HEIGHT - _BOTTOM),
        )

    def at(self, x: float, y: float) -> Point:
        """Return the point of the page (mm) for a point of the plot."""
        (left, top), (right, bottom) = self.box
        (x_low, x_high), (y_low, y_high) = self.x_range, self.panel.y_range
        return (
            left + (x - x_low) / (x_high - x_low) * (right - left),
            bottom - (y - y_low) / (y_high - y_low) * (bottom - top),
        )

    def draw(self) -> None:
        self._scales()
        colours = iter(COLOURS * (1 + len(self.panel.curves) // len(COLOURS)))
        entries = iter(self.legend)
        for curve in self.panel.curves:
            points = [self.at(float(x), float(y)) for x, y in zip(curve.x, curve.y, strict=True)]
            if curve.limit:
                self.page.line(points, INK, 0.35, 1.6)
                x, y = points[-1]
                self.page.text((x - 1, y - 1.4), curve.name, TextStyle(_SMALL, "end", halo=True))
            else:
                colour = next(colours)
                self.page.line(points, colour, 0.45)
                self._entry(_entry_name(curve.name), next(entries), colour)

    def _scales(self) -> None:
        panel, page = self.panel, self.page
        (left, top), (right, bottom) = self.box
        title = shortened(panel.title, _WIDE * _TITLE, WIDTH - _LEFT - _RIGHT)
        page.text((_LEFT, self.top + 6), title, TextStyle(_TITLE, bold=True))
        for value in ticks(*panel.y_range, 8):
            _, y = self.at(0, value)
            page.line([(left, y), (right, y)], PALE, 0.2)
            text = f"{value:g} {panel.y_name}"
            page.text((left - 2, y + 1), text, TextStyle(_SMALL, "end"))
        for value in ticks(*self.x_range, 11):
            x, _ = self.at(value, 0)
            page.line([(x, bottom), (x, bottom + 1.3)], INK, 0.25)
            page.text((x, bottom + 5), f"{value:g}", TextStyle(_SMALL, "middle"))
        page.line([(left, top), (left, bottom), (right, bottom)], INK, 0.25)
        name = TextStyle(_SMALL, "middle", GREY)
        page.text(((left + right) / 2, bottom + 9.5), panel.x_name, name)

    def _entry(self, name: str, place: tuple[float, int], colour: str) -> None:
        """Draw an entry of the legend at its x (mm) and row."""
        x, row = place
        y = self.top + _TOP + _ROW * row + 2
        self.page.line([(x, y - 1), (x + _SAMPLE, y - 1)], colour, 0.45)
        self.page.text((x + _SAMPLE + 1.5, y), name, TextStyle(_SMALL))


def _entry_name(name: str) -> str:
    """Return a curve's name as the legend has room for it."""
    return shortened(name, _WIDE * _SMALL, WIDTH - _LEFT - _RIGHT - _SAMPLE - 1.5)


def _legend(names: Sequence[str]) -> list[tuple[float, int]]:
    """Return the x (mm) and row of each entry: as many in a row as fit."""
    places, x, row = [], _LEFT, 0
    for name in names:
        wide = _SAMPLE + 1.5 + _WIDE * width_of(name, _SMALL)
        if x > _LEFT and x + wide > WIDTH - _RIGHT:
            x, row = _LEFT, row + 1
        places.append((x, row))
        x += wide + 6
    return places
