"""An effect of your own: lumenmap try blinds --effects examples/effects --house house.toml."""

from typing import Annotated

import numpy as np

from lumenmap.motion.options import Duration, Length


def blinds(
    at,  # N places: at.xyz (N, 3) m, at.along_line, at.along_edge, at.facing …; no pixel index
    t,  # (T, 1) seconds
    palette,  # palette(u) is linear light (…, 3) at places u of the palette, 0..1
    /,
    *,
    slat: Annotated[float, Length("height of a slat", low=0.02, high=5)] = 0.3,  # SI: metres
    period: Annotated[float, Duration("one opening and closing", low=0.5, high=60)] = 4.0,
):
    """Open and close in level slats, like blinds at a window.

    Found by: shutters, slats, louvres.
    """
    height = at.xyz[:, 2] / slat
    wide = 0.5 - 0.5 * np.cos(2 * np.pi * t / period)
    lit = height % 1.0 < wide  # (T, N)
    return palette(np.floor(height) / 8 + 0 * t) * lit[..., None].astype("f4")
