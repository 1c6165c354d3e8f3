"""House to PixelMap: every hole of every edge that a line runs along, in the order of the wire.

Strategy: each edge is laid out once, from its own start, whichever lines run over it and however.
A line then takes the holes in the order its data reaches them. So no choice of path, direction or
entry moves a pixel.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.house.model import House
from lumenmap.pixels.edge_layout import layout_edges
from lumenmap.pixels.hidden import hidden
from lumenmap.pixels.line_layout import LineLayout
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.pixels.select import fill_groups

#: Slots of a DMX universe (ANSI E1.11), for numbering the universes of lines that name none.
SLOTS = 512


def map_pixels(house: House, line_layouts: list[LineLayout] | None = None) -> PixelMap:
    """Return where each pixel of a house is, in wiring order; ``line_layouts`` if they are known already.

    Raises
    ------
    InputError
        Too many pixels, none at all, a path that leaps with no jumper, or strings that don't fit.
    """
    line_layouts = layout_lines(house) if line_layouts is None else line_layouts
    spans = _spans(house, line_layouts)
    rows = [row for walk in line_layouts for row in walk.rows]
    xyz, facing, wire, along, size, edge, lit = (np.concatenate(c) for c in zip(*rows, strict=True))
    lines = np.repeat(np.arange(len(spans), dtype=np.int32), [s.count for s in spans])
    for walk, span in zip(line_layouts, spans, strict=True):
        for number in walk.line.dead:
            lit[span.first + number - 1] = 0
    made = PixelMap(
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
    fill_groups(made, house)
    return replace(made, notes=(*house.notes, *hidden(house, made)))


def layout_lines(house: House) -> list[LineLayout]:
    """Walk every line of a house over its edges laid out.

    Raises
    ------
    InputError
        As `map_pixels`.
    """
    laid = layout_edges(house)
    index = {name: i for i, name in enumerate(house.edges)}
    return [LineLayout(house, line, laid, index) for line in house.lines]


def _spans(house: House, line_layouts: list[LineLayout]) -> tuple[LineSpan, ...]:
    spans: list[LineSpan] = []
    first, free = 0, 1
    for walk in line_layouts:
        line = walk.line
        universe = line.universe if line.universe is not None else free
        spans.append(LineSpan(line.name, first, walk.count, universe, line.order, walk.wire))
        first += walk.count
        free = universe + -(-walk.count // (SLOTS // house.kind.channels))
        if free > 64_000:
            raise InputError(
                "runs past universe 63999, the last there is",
                file=house.file,
                key=f'line "{line.name}", universe',
            )
    return tuple(spans)
