"""Choosing pixels by name: edges, masses, kinds of edge, groups, lines, and patterns of these."""

from __future__ import annotations

from collections.abc import Iterable
from fnmatch import fnmatchcase

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.house.model import House
from lumenmap.pixels.pixelmap import PixelMap


def select(pixelmap: PixelMap, house: House, patterns: Iterable[str]) -> NDArray[np.bool_]:
    """Return an (N,) mask of the pixels that any of ``patterns`` names.

    A pattern is the name of an edge, mass, line, group or kind of edge, or a shell pattern over
    edge names (``main/rake-*``). Spares are never chosen.

    Raises
    ------
    InputError
        A pattern that names nothing with pixels on this house; the key is ``[i]``.
    """
    mask = np.zeros(len(pixelmap), bool)
    for i, pattern in enumerate(patterns):
        try:
            mask |= _one(pixelmap, house, pattern)
        except InputError as error:
            raise error.at(key=f"[{i}]") from None
    return mask & pixelmap.lit


def _one(pixelmap: PixelMap, house: House, pattern: str) -> NDArray[np.bool_]:
    if pattern in house.groups:
        return select(pixelmap, house, (m for m in house.groups[pattern] if m not in house.groups))
    for number, span in enumerate(pixelmap.lines):
        if span.name == pattern and pattern not in house.edges:
            return pixelmap.line == number
    hits = [
        i
        for i, name in enumerate(pixelmap.edge_names)
        if pattern in (name, house.edges[name].kind, house.edges[name].mass)
        or fnmatchcase(name, pattern)
    ]
    if not hits:
        raise InputError(unknown("edge", pattern, _names(house)))
    found = np.isin(pixelmap.edge, hits)
    if not found.any():
        raise InputError(f'"{pattern}" carries no pixels: no line runs along it')
    return found


def _names(house: House) -> list[str]:
    """All that a pattern may name on this house, edges with pixels first."""
    lit = {step.edge for line in house.lines for step in line.path if hasattr(step, "edge")}
    masses = [m.name for m in house.masses]
    return [*lit, *house.groups, *masses, *(line.name for line in house.lines)]
