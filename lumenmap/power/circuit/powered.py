"""Light as the wiring gives it: codes, dimmed by what volts are missing at each pixel."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.model import House
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.circuit.undervoltage import settle
from lumenmap.power.circuit.wiring import wire_up

Powered = Callable[[NDArray[np.uint8]], NDArray[np.float32]]


def as_powered(house: House, pixelmap: PixelMap) -> Powered:
    """Return a function: codes (T, N, C) to the light (T, N, C) they give on this house, 0..1.

    An LED's light is linear in its current, and a channel short of volts has less of it: blue and
    green first, so the far end of a line that is fed at one end only turns warm and dim.
    """
    wired = wire_up(house, pixelmap)

    def light(codes: NDArray[np.uint8]) -> NDArray[np.float32]:
        lit = settle(wired.network, codes, pixelmap.kind).lit
        return (lit * codes / 255).astype(np.float32)

    return light
