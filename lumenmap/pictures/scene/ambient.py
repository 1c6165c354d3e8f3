"""Light outdoors in the evening, as a picture needs it: lux by the sun's height, and the unit.

Everything in a picture has one unit of luminance, so that a lamp, a window, the sky and a wall lit
by them keep their ratios whatever the exposure.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

#: Intensity of a pixel at full white, straight ahead (cd): 5050 LEDs at 20 mA a die have 390-420,
#: 660-720 and 180-200 mcd in red, green and blue, added up [P2, copies of data sheets].
PIXEL_CANDELA = 1.28
#: The same in units of the picture's light × m².
STRENGTH = 0.7
#: Luminance of one unit of the picture's light (cd/m²).
UNIT = PIXEL_CANDELA / STRENGTH
#: Illuminance of level ground by the sun's height h: log10 lux is a cubic in h/90°. Each row: the
#: lowest h (degrees), the coefficients. Janiczek and DeYoung, "Computer Programs for Sun and Moon
#: Illuminance", US Naval Observatory Circular 171, 1987 [M].
TWILIGHT = (
    (-18.0, (13.84, 262.72, 1447.42, 2797.93)),
    (-12.0, (2.70, 12.17, -431.69, -1899.83)),
    (-5.0, (2.88, 21.81, -258.11, -858.36)),
    (-0.8, (2.88, 22.26, -207.64, 1034.30)),
)
#: Highest and lowest sun that `twilight_lux` knows (degrees).
HIGHEST, LOWEST = 5.0, -18.0
#: Dusk in pictures: the sun is this high (degrees), some minutes after the end of civil twilight at
#: -6, when permanent lights have been switched on (common practice, no source).
DUSK_SUN = -7.0
#: Night in pictures (lux): a high full moon, 0.1 to 0.3 [M]; or what gets as far as a house of a
#: street's light, of which a residential street has 2 to 15 on average (EN 13201-2, classes P6 to
#: P1 [M]).
NIGHT_LUX = 0.3
#: Weights of linear sRGB in luminance (IEC 61966-2-1).
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])


def twilight_lux(height: float) -> float:
    """Return the illuminance of level ground with the sun at a height (degrees), in lux.

    Raises
    ------
    ValueError
        A height outside `LOWEST`..`HIGHEST`.
    """
    if not LOWEST <= height <= HIGHEST:
        raise ValueError(f"the sun at {height:g} degrees; expected {LOWEST:g} to {HIGHEST:g}")
    terms = next(terms for lowest, terms in reversed(TWILIGHT) if height >= lowest)
    return float(10 ** sum(term * (height / 90) ** n for n, term in enumerate(terms)))


def luminance(light: ArrayLike) -> float:
    """Return the luminance of light (3,) in linear sRGB, relative to white."""
    return float(np.asarray(light, np.float64) @ LUMINANCE)


def lux_of(radiance: ArrayLike) -> float:
    """Return the illuminance (lux) under which a white Lambertian face has a radiance (3,).

    E = π L: the luminance of a perfect diffuser (CIE S 017, "perfect reflecting diffuser" [M]).
    """
    return math.pi * UNIT * luminance(radiance)
