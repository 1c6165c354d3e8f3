"""Choosing pixels by name: edges, masses, kinds of edge, lines, groups, and patterns of edges."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fnmatch import fnmatchcase

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, near, unknown
from lumenmap.house.model import Group, House
from lumenmap.pixels.pixelmap import PixelMap

Mask = NDArray[np.bool_]

#: Pixels by number: a line's name, and the numbers on it of the first and the last pixel.
_BY_NUMBER = re.compile(r"(.{1,80}) (\d{1,7})(?:-(\d{1,7}))?")
#: Groups nested deeper than this refer to each other in a circle.
MAX_DEPTH = 20


def select(
    pixelmap: PixelMap, house: House, patterns: Sequence[str], others: Iterable[str] = ()
) -> Mask:
    """Return which pixels (N,) any of the patterns matches.

    Parameters
    ----------
    patterns
        Each is a group, an edge (``main/eave-left``), a mass (``main``: all its edges), a kind of
        edge (``rake``), a line, pixels of a line by their numbers (``front 10-20``), or a pattern
        of edge names (``main/rake-*``). A name that means several of these means the first of them.
    others
        More names of places, such as a show's groups, for the error.

    Raises
    ------
    InputError
        A pattern that matches nothing; ``key`` says which, as ``item 2``.
    """
    found = np.zeros(len(pixelmap), bool)
    for i, pattern in enumerate(patterns):
        if pattern in pixelmap.groups:
            found |= pixelmap.groups[pattern]
            continue
        try:
            found |= _named(pixelmap, house, pattern, others)
        except InputError as error:
            raise InputError(error.message, key=f"item {i + 1}") from None
    return found


def fill_groups(pixelmap: PixelMap, house: House) -> None:
    """Add the masks of the house's groups to its map.

    Raises
    ------
    InputError
        A pattern that matches nothing, or a group that contains itself.
    """
    for name in house.groups:
        _group(pixelmap, house, name, ())


def _group(pixelmap: PixelMap, house: House, name: str, above: tuple[str, ...]) -> Mask:
    if name in pixelmap.groups:
        return np.asarray(pixelmap.groups[name])
    key = f"group.{name}"
    if name in above or len(above) > MAX_DEPTH:
        raise InputError(f"contains itself: {' > '.join([*above, name])}", file=house.file, key=key)
    group = house.groups[name]
    mask = np.zeros(len(pixelmap), bool) if group.of else pixelmap.edge >= 0
    for pattern in group.of:
        if pattern in house.groups:
            mask |= _group(pixelmap, house, pattern, (*above, name))
            continue
        try:
            mask |= _named(pixelmap, house, pattern)
        except InputError as error:
            raise error.at(file=house.file, key=key) from None
    mask &= _inside(pixelmap, group)
    pixelmap.groups[name] = mask
    return mask


def _inside(pixelmap: PixelMap, group: Group) -> Mask:
    """Return which pixels are in a group's box; its faces belong to it."""
    inside = np.ones(len(pixelmap), bool)
    if group.low is not None:
        inside &= (pixelmap.xyz >= np.array(group.low) - 1e-9).all(axis=1)
    if group.high is not None:
        inside &= (pixelmap.xyz <= np.array(group.high) + 1e-9).all(axis=1)
    return inside


def _named(pixelmap: PixelMap, house: House, pattern: str, others: Iterable[str] = ()) -> Mask:
    """Return the pixels that one pattern matches; see `select`."""
    names = pixelmap.edge_names
    owners = [house.edges[n].mass for n in names]
    kinds = [house.edges[n].kind for n in names]
    spans = {span.name: i for i, span in enumerate(pixelmap.lines)}
    for known in (names, owners, kinds):
        if pattern in known:
            chosen = [k == pattern for k in known]
            return np.array([*chosen, False])[pixelmap.edge]
    if pattern in spans:
        return np.asarray(pixelmap.line == spans[pattern])
    if (m := _BY_NUMBER.fullmatch(pattern)) and m.group(1) in spans:
        span = pixelmap.lines[spans[m.group(1)]]
        first, last = int(m.group(2)), int(m.group(3) or m.group(2))
        if first > last:
            raise InputError(f'is "{pattern}"; expected the lower number first, {last}-{first}')
        if not 1 <= first <= last <= span.count:
            raise InputError(f'"{pattern}": line "{span.name}" has pixels 1 to {span.count}')
        mask = np.zeros(len(pixelmap), bool)
        mask[span.first + first - 1 : span.first + last] = True
        return mask
    if any(c in pattern for c in "*?["):
        chosen = [fnmatchcase(n, pattern) for n in names]
        if any(chosen):
            return np.array([*chosen, False])[pixelmap.edge]
    raise InputError(_no_place(pixelmap, house, pattern, others))


def _no_place(pixelmap: PixelMap, house: House, name: str, others: Iterable[str]) -> str:
    """Return a message about a name that means no place: the nearest, and those there are."""
    lines = [span.name for span in pixelmap.lines]
    edges = pixelmap.edge_names
    kinds = sorted({house.edges[n].kind for n in edges})
    masses = [m.name for m in house.masses]
    known = dict.fromkeys([*edges, *masses, *kinds, *lines, *house.groups, *others])
    if (m := _BY_NUMBER.fullmatch(name)) and not near(name, known):
        return unknown("line", m.group(1), lines)
    return unknown("place", name, known)
