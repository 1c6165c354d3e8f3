"""One repeat of a pattern, drawn into a palette's table: a group for each of its stops."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.palette import K, Palette

F = NDArray[np.float64]

#: A table of this many colours is 1 MB, what a core's own cache holds.
_MOST = 65536


def stripe(palette: Palette, level: Callable[[F], F], finest: float) -> Palette:
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

    Returns
    -------
    Palette
        0..1 is one repeat: as many groups as the palette has stops.
    """
    groups = len(palette.stops)
    needed = 16 * groups / max(finest, 1e-6)
    entries = min(max(K, 2 ** int(np.ceil(np.log2(needed)))), _MOST)
    u = np.arange(entries) / entries * groups
    colours = np.array([s.rgb for s in palette.stops])[np.floor(u).astype(int)]
    return palette.remade(colours * level(u % 1.0)[:, None])
