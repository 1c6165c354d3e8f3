"""Figures of wires and pixels, as `lumenmap help wiring` prints them. Nothing is taken from code."""

from __future__ import annotations

import math
import re
from typing import NamedTuple

#: Ohm per km of one conductor at 20 C: IEC 60228, as the page gives it.
METRIC_OHM_PER_KM = {
    "0.5 mm2": 39.0,
    "0.75 mm2": 26.0,
    "1 mm2": 19.5,
    "1.5 mm2": 13.3,
    "2.5 mm2": 7.98,
    "0.75 mm2 flexible tinned": 26.7,
    "1.5 mm2 flexible tinned": 13.7,
    "1.5 mm2 solid": 12.1,
    "2.5 mm2 solid": 7.41,
}
COPPER_OHM_MM2_PER_KM = 17.241
STRANDED = 1.0234
PER_KELVIN = 0.00393
LEAST_OHMS = 1e-6


def ohms_per_metre(size: str, celsius: float) -> float:
    """Return the resistance of one conductor of warm copper."""
    awg = re.fullmatch(r"(\d+) AWG( stranded)?", size)
    if awg:
        diameter: float = 0.127 * 92 ** ((36 - int(awg[1])) / 39)
        cold = COPPER_OHM_MM2_PER_KM / (math.pi / 4 * diameter**2)
        cold *= STRANDED if awg[2] else 1
    else:
        cold = METRIC_OHM_PER_KM[size]
    return cold / 1000 * (1 + PER_KELVIN * (celsius - 20))


class Pixel(NamedTuple):
    """What a kind draws: V where a channel begins and is full, mA of each channel and when dark."""

    off: tuple[float, ...]
    full: tuple[float, ...]
    channel_mA: tuple[float, ...]
    idle_mA: float

    def with_least(self, volts: float) -> Pixel:
        """[pixel] min_volts moves where channels are full."""
        highest = max(self.off)
        return self._replace(full=tuple(off + volts - highest for off in self.off))


PIXELS = {
    "ws2811-12v": Pixel((4.8, 7.8, 7.8), (6.6, 9.6, 9.6), (18.5,) * 3, 0.7),
    "ws2811-5v": Pixel((1.6, 2.6, 2.6), (3.5, 4.5, 4.5), (18.5,) * 3, 0.7),
    "ws2812b": Pixel((1.6, 2.6, 2.6), (3.5, 4.5, 4.5), (20.0,) * 3, 0.4),
    "ws2812b-v5": Pixel((1.6, 2.6, 2.6), (3.5, 4.5, 4.5), (12.0,) * 3, 0.6),
    "sk6812": Pixel((1.6, 2.6, 2.6), (3.5, 4.5, 4.5), (20.0,) * 3, 1.0),
    "sk6812-rgbw": Pixel((1.6, 2.6, 2.6, 2.6), (3.5, 4.5, 4.5, 4.5), (20.0,) * 4, 1.0),
}


def metres(value: float | str) -> float:
    """Return a length; these houses are in metres."""
    if not isinstance(value, str):
        return float(value)
    number, unit = value.split()
    return float(number) * {"m": 1, "mm": 0.001, "in": 0.0254, "ft": 0.3048}[unit]


def celsius(value: float | str) -> float:
    """Return a temperature; these houses write Celsius."""
    return float(value.removesuffix(" C")) if isinstance(value, str) else float(value)
