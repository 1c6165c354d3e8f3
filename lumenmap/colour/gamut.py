"""Bringing colours that lights can't make into what they can make.

A colour beyond all mixtures keeps its lightness and hue, and its OKLCh chroma is lowered until it
fits (CSS Color 4, section 13.2). One that is only too bright is dimmed, which leaves its hue and
its saturation. Clipping each channel would change both.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lumenmap.colour import oklab
from lumenmap.colour.matrix import Matrix, times

F = NDArray[np.float64]

#: Halvings of the chroma: 2**-30 of it is far below any code.
_HALVINGS = 30
#: Rounding of this size isn't a colour outside; nearer than this to 0 or 1 is 0 or 1.
_ROUNDING = 1e-6
#: OKLab distance that is just noticeable (CSS Color 4, section 13.2).
NOTICEABLE = 0.02

#: sRGB itself, as a space that colours are brought into.
SRGB: Matrix = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def brought_in(rgb: ArrayLike, space: Matrix = SRGB) -> F:
    """Return colours as 0..1 of each channel of ``space``, less colourful where they must be.

    Parameters
    ----------
    rgb
        (..., 3) linear sRGB, any numbers.
    space
        Takes linear sRGB to the channels of a space that has the same white at 1, 1, 1.

    Returns
    -------
    (..., 3) float64
        0..1 of each channel.
    """
    given = np.asarray(rgb, np.float64)
    flat = given.reshape(-1, 3)
    channels = times(space, flat)
    if (outside := (channels < -_ROUNDING).any(-1)).any():
        light, chroma, hue = oklab.to_lch(oklab.from_linear(flat[outside])).T
        low, high = np.zeros_like(chroma), np.ones_like(chroma)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            made = times(space, _linear(light, middle * chroma, hue))
            fits = (made >= -_ROUNDING).all(-1)
            low, high = np.where(fits, middle, low), np.where(fits, high, middle)
        channels[outside] = times(space, _linear(light, low * chroma, hue))
    channels = channels / np.maximum(channels.max(-1, keepdims=True), 1.0)
    pure = np.rint(channels)
    near = np.abs(channels - pure) < _ROUNDING
    found: F = np.where(near, pure, channels).clip(0, 1).reshape(given.shape)
    return found


def change(rgb: ArrayLike, space: Matrix = SRGB) -> F:
    """Return how far (OKLab) each colour (..., 3) moves when it is `brought_in`."""
    inverse = np.linalg.inv(np.array(space))
    rows: Matrix = tuple((float(r[0]), float(r[1]), float(r[2])) for r in inverse)
    shown = times(rows, brought_in(rgb, space))
    moved = oklab.from_linear(shown) - oklab.from_linear(rgb)
    return np.asarray(np.sqrt((moved**2).sum(-1)))


def _linear(light: F, chroma: F, hue: F) -> F:
    return oklab.to_linear(oklab.from_lch(np.stack([light, chroma, hue], -1)))
