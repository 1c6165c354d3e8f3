"""Choosing pixels by name: edges, masses, kinds of edge, groups, and patterns of edge names."""

from __future__ import annotations

from collections.abc import Sequence
from fnmatch import fnmatchcase

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.house.model import House
from lumenmap.pixels.pixelmap import PixelMap

Mask = NDArray[np.bool_]


def select(pixelmap: PixelMap, house: House, patterns: Sequence[str]) -> Mask:
    """Return which pixels (N,) any of the patterns names.

    Parameters
    ----------
    patterns
        Each is an edge (``main/eave-left``), a mass (``main``: all its edges), a kind of edge
        (``rake``), a group, or a pattern of edge names (``main/*``).

    Raises
    ------
    InputError
        A pattern that names nothing; ``key`` says which, as ``[2]``.
    """
    found = np.zeros(len(pixelmap), bool)
    for i, pattern in enumerate(patterns):
        if pattern in pixelmap.groups:
            found |= pixelmap.groups[pattern]
            continue
        try:
            found |= members(house, pattern, pixelmap.edge_names)[pixelmap.edge]
        except InputError as error:
            raise InputError(error.message, key=f"[{i}]") from None
    return found


def members(house: House, pattern: str, names: Sequence[str], _depth: int = 0) -> Mask:
    """Return which edges (E + 1,) a pattern names; the last entry, for no edge, is False."""
    mask = np.zeros(len(names) + 1, bool)
    if pattern in house.groups and _depth < 20:
        for inner in house.groups[pattern]:
            if inner == pattern:
                continue
            mask |= members(house, inner, names, _depth + 1)
        return mask
    for i, name in enumerate(names):
        edge = house.edges[name]
        mask[i] = pattern in (name, edge.mass, edge.kind) or (
            any(c in pattern for c in "*?[") and fnmatchcase(name, pattern)
        )
    if not mask.any():
        known = {*names, *(m.name for m in house.masses), *house.groups}
        raise InputError(unknown("edge", pattern, known))
    return mask
