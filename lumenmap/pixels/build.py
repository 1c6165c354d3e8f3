"""From `House` to `PixelMap`: every hole of every edge that a line follows, in wiring order.

Strategy: the layout of each edge is calculated once, from the edge's own start, whichever lines
follow it and in whatever direction. A line then takes the holes in the order its data reaches
them. So no choice of path or direction moves a pixel.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np

from lumenmap.core.errors import InputError, each
from lumenmap.house.model import House, Line
from lumenmap.pixels.edge_layout import layout_edges
from lumenmap.pixels.hidden import hidden
from lumenmap.pixels.line_layout import LineLayout
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.pixels.select import fill_groups
from lumenmap.pixels.universes import number_universes, plan_universes


def map_pixels(house: House, line_layouts: list[LineLayout] | None = None) -> PixelMap:
    """Return where each pixel of a house is, in wiring order.

    Parameters
    ----------
    line_layouts
        As `layout_lines` returns them, if they are known already.

    Raises
    ------
    InputError
        Too many pixels, none at all, a gap without a jumper, or strings that don't fit.
    """
    layouts = layout_lines(house) if line_layouts is None else line_layouts
    spans = _spans(house, layouts)
    rows = [row for layout in layouts for row in layout.rows]
    xyz, facing, wire, along, size, edge, lit = (np.concatenate(c) for c in zip(*rows, strict=True))
    lines = np.repeat(np.arange(len(spans), dtype=np.int32), [s.count for s in spans])
    for layout, span in zip(layouts, spans, strict=True):
        for number in layout.line.dead:
            lit[span.first + number - 1] = 0
    pixelmap = PixelMap(
        xyz,
        facing,
        wire,
        along,
        size,
        edge.astype(np.int32),
        lines,
        lit > 0,
        tuple(house.edges),
        spans,
        house.kind,
        {},
    )
    fill_groups(pixelmap, house)
    return replace(pixelmap, notes=(*house.notes, *hidden(house, pixelmap)))


def layout_lines(house: House) -> list[LineLayout]:
    """Return the layout of every line of a house.

    Raises
    ------
    InputError
        As `map_pixels`.
    """
    edge_layouts = layout_edges(house)
    edge_index = {name: i for i, name in enumerate(house.edges)}

    def laid(line: Line) -> LineLayout:
        return LineLayout(house, line, edge_layouts, edge_index)

    return list(each(laid, house.lines))


def _spans(house: House, layouts: list[LineLayout]) -> tuple[LineSpan, ...]:
    channels = house.kind.channels
    universes = number_universes(((x.count, x.line.universe) for x in layouts), channels)
    firsts = itertools.accumulate((x.count for x in layouts), initial=0)
    spans = tuple(
        LineSpan(x.line.name, first, x.count, universe, x.line.order, x.wire)
        for x, first, universe in zip(layouts, firsts, universes, strict=False)
    )
    try:
        plan_universes(spans, channels)
    except InputError as error:
        raise error.at(file=house.file) from None
    return spans
