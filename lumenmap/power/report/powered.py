"""Light as the wiring powers it: codes, dimmed where the voltage is too low."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lumenmap.power.circuit.undervoltage import solve_steady_state
from lumenmap.site import Site

Powered = Callable[[NDArray[np.uint8]], NDArray[np.float32]]


def as_powered(site: Site) -> Powered:
    """Return a function: codes (T, N, C) to the light (T, N, C) they give on this house, 0..1.

    An LED's light is linear in its current, and a channel at too low a voltage draws less: blue and
    green first, so the far end of a line that is fed at one end only turns warm and dim.
    """
    network, kind = site.wiring.network, site.house.kind

    def light(codes: NDArray[np.uint8]) -> NDArray[np.float32]:
        fraction = solve_steady_state(network, codes, kind).channel_fraction
        return (fraction * codes / 255).astype(np.float32)

    return light
