"""The palette spread along the house."""

from __future__ import annotations

from typing import Annotated

from lumenmap.colour.palette import Light, Palette
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Length, Speed, Way
from lumenmap.motion.varying import Varying, moved, now
from lumenmap.motion.ways import measure


def gradient(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    length: Annotated[
        Varying | None,
        Length(
            "length of one pass through the palette",
            low=2 * IN,
            high=3000 * FT,
            unset="the whole way",
        ),
    ] = None,
    speed: Annotated[Varying, Speed("how fast the colours drift", low=-90 * FT, high=90 * FT)] = 1
    * FT,
    way: Annotated[str, Way("what the palette is spread along")] = "across",
) -> Light:
    """Spread the palette along the house, and let it drift.

    Found by: rainbow, blend, colour wheel, spectrum, fade across, ombre, colour run.
    """
    distance = measure(at, way)
    reach = distance.whole if length is None else distance.fit(now(length))
    return palette((distance.metres - moved(speed, t)) * (1 / reach))
