"""The tone curve from linear light to a screen, for all pictures."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.transfer import to_srgb

#: Steps of the table per unit of light: finer than the smallest step of 8-bit sRGB (1/3295).
STEPS = 8192
#: Below the knee the curve is linear, so that dark walls keep their contrast.
KNEE = 0.45


def tone_table() -> NDArray[np.uint8]:
    """Return the (65536,) table from light × `STEPS` to 8-bit sRGB.

    Linear to the knee, then an exponential shoulder that continues its slope and approaches 1:
    highlights keep some colour and don't clip.
    """
    light = np.arange(65536) / STEPS
    rest = 1 - KNEE
    over = np.maximum(light - KNEE, 0)
    shown = np.where(light < KNEE, light, 1 - rest * np.exp(-over / rest))
    return np.round(to_srgb(shown) * 255).astype(np.uint8)
