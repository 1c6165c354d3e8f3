"""The sky at dusk and the light it leaves on the house."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]

#: Linear radiance overhead and at the horizon, late dusk.
ZENITH = (0.004, 0.007, 0.020)
HORIZON = (0.050, 0.050, 0.075)
#: Linear irradiance of the sky on a level face, as radiance off a white one.
AMBIENT = (0.070, 0.085, 0.135)


def sky(rays: F) -> F:
    """Return (…, 3) linear radiance of the sky along (…, 3) directions."""
    rise = rays[..., 2] / np.linalg.norm(rays, axis=-1)
    height = np.clip(rise, 0, 1)[..., None]
    glow = np.exp(-height / 0.16)
    light: F = np.asarray(ZENITH) * (1 - glow) + np.asarray(HORIZON) * glow
    return light
