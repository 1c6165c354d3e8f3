"""A Show laid on a PixelMap: which pixels each layer lights, settled once before rendering."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.house.model import House
from lumenmap.motion.at import At
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.pixels.select import select
from lumenmap.show.model import Cue, Layer, Show


@dataclass(frozen=True, slots=True, eq=False)
class PlannedLayer:
    """A layer with its places; ``rows`` the pixels it lights, None for all of them."""

    layer: Layer
    at: At
    rows: NDArray[np.intp] | slice | None
    options: dict[str, Any]


@dataclass(frozen=True, slots=True, eq=False)
class PlannedCue:
    """A cue with its planned layers."""

    cue: Cue
    layers: tuple[PlannedLayer, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """What the renderer reads: nothing here is looked up by name any more.

    ``dark`` holds the rows of spares, which stay at 0.
    """

    show: Show
    pixels: int
    cues: tuple[PlannedCue, ...]
    dark: NDArray[np.intp]


def plan(show: Show, house: House, pixelmap: PixelMap) -> Plan:
    """Lay a show on a house.

    Raises
    ------
    InputError
        A layer lies on an edge, mass or group that this house does not have.
    """
    places = _places(house, pixelmap)
    number = 0
    cues = []
    for cue in show.cues:
        layers = []
        for layer in cue.layers:
            rows = _rows(layer, show, house, pixelmap)
            options = dict(layer.options)
            if options.get("seed", 0) is None:
                # Layers of one show differ though they share its seed.
                options["seed"] = (show.seed * 1_000_003 + number) % 2**31
            layers.append(PlannedLayer(layer, _part(places, rows), rows, options))
            number += 1
        cues.append(PlannedCue(cue, tuple(layers)))
    return Plan(show, len(pixelmap), tuple(cues), np.flatnonzero(~pixelmap.lit))


def _rows(
    layer: Layer, show: Show, house: House, pixelmap: PixelMap
) -> NDArray[np.intp] | slice | None:
    if not layer.on:
        return None
    try:
        rows = np.flatnonzero(select(pixelmap, house, layer.on))
    except InputError as error:
        key = f"{layer.key}.on" + (f", {error.key}" if error.key else "")
        raise InputError(error.message, file=show.file, key=key) from None
    if len(rows) == len(pixelmap):
        return None
    if len(rows) and rows[-1] - rows[0] + 1 == len(rows):
        return slice(int(rows[0]), int(rows[-1]) + 1)  # a slice blends without a gather
    return rows


def _places(house: House, pixelmap: PixelMap) -> At:
    lengths = np.array([span.length for span in pixelmap.lines])
    return At(
        xyz=pixelmap.xyz,
        along_line=pixelmap.along_line,
        along_edge=pixelmap.along_edge,
        edge_length=pixelmap.edge_length,
        facing=pixelmap.facing,
        line_length=lengths[pixelmap.line],
        low=pixelmap.xyz.min(axis=0),
        high=pixelmap.xyz.max(axis=0),
        corners=house.corners,
    )


def _part(at: At, rows: NDArray[np.intp] | slice | None) -> At:
    if rows is None:
        return at
    each = ("xyz", "along_line", "along_edge", "edge_length", "facing", "line_length")
    return replace(at, **{name: getattr(at, name)[rows] for name in each})
