"""The routes that the layers of a show follow, measured on a house."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.motion.at import At
from lumenmap.motion.distance import Distance
from lumenmap.motion.options import Way
from lumenmap.pixels.places import Places
from lumenmap.pixels.walk import Walk
from lumenmap.routes.route import AROUND
from lumenmap.show.model import Layer, Show


def followed(show: Show, places: Places, at: At) -> tuple[list[list[Walk]], At]:
    """Return the routes of each layer, in the show's order, and the places with all measured.

    A layer lights only the pixels of its routes. All edges as one walks round are everywhere, so
    that way limits nothing.

    Raises
    ------
    InputError
        No such route, an edge that the house doesn't have, or one without pixels.
    """
    walks: list[list[Walk]] = []
    routes: dict[Any, Distance] = {}
    for layer in (layer for cue in show.cues for layer in cue.layers):
        walks.append(own := [])
        for name, value in _ways(layer):
            try:
                route = places.route(value)
                if route is None:
                    continue
                laid = places.walk(route)
            except InputError as error:
                inside = error.key.startswith("route ")
                key = error.key if inside else f"{layer.key}, {name} {error.key}".rstrip()
                raise InputError(error.message, file=show.file, key=key) from None
            routes[value] = _distance(laid)
            if route not in AROUND.values():
                own.append(laid)
    return walks, replace(at, routes=routes)


def _ways(layer: Layer) -> list[tuple[str, Any]]:
    options = layer.effect.options.items()
    ways = [(name, layer.options[name]) for name, spec in options if isinstance(spec.kind, Way)]
    if layer.turns is not None and isinstance(layer.turns.parts, int):
        ways.append(("turns.way", layer.turns.way))
    return ways


def _distance(walk: Walk) -> Distance:
    whole = np.full(len(walk.metres), walk.length)
    return Distance(walk.metres, whole, walk.length if walk.closed else None)
