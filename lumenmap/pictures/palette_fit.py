"""`Palette`: one set of colours for a whole clip, and the nearest of them to any colour."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.spatial import KDTree

from lumenmap.colour.oklab import from_linear
from lumenmap.colour.transfer import to_linear

Frame = NDArray[np.uint8]


class Palette:
    """At most ``count`` colours fitted to sample frames.

    Attributes
    ----------
    colours
        (K, 3) uint8 sRGB.
    """

    def __init__(self, samples: Frame, count: int = 255) -> None:
        pixels = samples.reshape(-1, 3)
        pixels = pixels[:: max(1, len(pixels) // 250_000)]
        picture = Image.fromarray(np.ascontiguousarray(pixels[None]))
        fitted = picture.quantize(count, method=Image.Quantize.MEDIANCUT, kmeans=2)
        flat = np.array(fitted.getpalette(), np.uint8).reshape(-1, 3)
        self.colours = np.unique(flat, axis=0)[:count]
        self._tree = KDTree(_oklab(self.colours))
        self._nearest = np.full(1 << 18, -1, np.int16)

    def indices(self, frame: Frame) -> NDArray[np.uint8]:
        """Return the (H, W) places in the palette nearest to a frame's colours in OKLab."""
        six = (frame >> 2).astype(np.int32)
        cell = (six[..., 0] << 12) | (six[..., 1] << 6) | six[..., 2]
        found = self._nearest[cell]
        if (found < 0).any():
            missing = np.unique(cell[found < 0])
            rgb = np.stack([missing >> 12, (missing >> 6) & 63, missing & 63], -1) * 4 + 2
            rgb = np.where(rgb < 4, 0, np.where(rgb > 251, 255, rgb))
            self._nearest[missing] = self._tree.query(_oklab(rgb))[1]
            found = self._nearest[cell]
        return np.asarray(found, np.uint8)


def _oklab(srgb: NDArray[np.integer]) -> NDArray[np.float64]:
    return from_linear(to_linear(srgb / 255))
