"""One repeat of a pattern, drawn into a palette's table: a group for each of its stops."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.palette import K, Palette
from lumenmap.colour.stops import Stop

F = NDArray[np.float64]

#: A table of this many colours is 1 MB, what a core's own cache holds.
_MOST = 65536
#: And a group of this many for a step of a ramp, which is soon gone: it is drawn in 0.1 ms, and all
#: steps of a ramp together are what a core's own cache holds.
_PASSING = 256


def stripe(
    palette: Palette, level: Callable[[F], F], finest: float, passing: bool = False
) -> Palette:
    """Draw a pattern that gives each stop of the palette a group of its own.

    Looking a pattern up is many times quicker than calculating it at every pixel of every frame.

    Parameters
    ----------
    palette
        Its stops' colours are taken in turn.
    level
        Brightness 0..1 at places 0..1 of a group.
    finest
        The smallest detail of ``level``, as a part of the group; it is resolved to a sixteenth.
    passing
        Whether it is seen for a moment only, and may be coarser.

    Returns
    -------
    Palette
        0..1 is one repeat: as many groups as the palette has stops.
    """
    groups = len(palette.stops)
    needed = 16 * groups / max(finest, 1e-6)
    if passing:
        needed = min(needed, _PASSING * groups)
    entries = min(max(K, 2 ** int(np.ceil(np.log2(needed)))), _MOST)
    inside, colours = _groups(palette.stops, entries)
    return palette.remade(colours * level(inside)[:, None])


@lru_cache(4)
def _groups(stops: tuple[Stop, ...], entries: int) -> tuple[F, F]:
    """Return the place 0..1 in its group of each entry, and its group's colour."""
    u = np.arange(entries) / entries * len(stops)
    return u % 1.0, np.array([s.rgb for s in stops])[np.floor(u).astype(int)]
