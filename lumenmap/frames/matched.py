"""Colours of layers mixed for the house's own dies, so that they look as on a screen.

Layers are composed in the dies' primaries with white at 1, 1, 1 (`Dies.even`), so that blend modes
do with white and black what they say. The renderer multiplies what was composed by the dies'
balance, once.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.dies import Dies
from lumenmap.colour.gamut import NOTICEABLE, brought_in, change
from lumenmap.colour.palette import Palette
from lumenmap.colour.transfer import to_linear, to_srgb
from lumenmap.motion.raster import Raster
from lumenmap.show.model import Layer

#: Linear light of each sRGB code.
_LIGHT = to_linear(np.arange(256) / 255)


class Matched:
    """Mixes the palettes and pictures of layers; each once, however many layers share it."""

    def __init__(self, dies: Dies) -> None:
        self._dies = dies
        self._palettes: dict[int, tuple[Palette, Palette]] = {}
        self._rasters: dict[int, tuple[Raster, Raster]] = {}

    @cached_property
    def balance(self) -> NDArray[np.float32]:
        """(3,) the channels' light for white."""
        return self._dies.balance.astype(np.float32)

    def layer(self, layer: Layer) -> Layer:
        """Return a layer in the dies' colours."""
        options = {
            name: self._raster(value) if isinstance(value, Raster) else value
            for name, value in layer.options.items()
        }
        return replace(layer, palette=self._palette(layer.palette), options=options)

    @property
    def notes(self) -> tuple[str, ...]:
        """A sentence for each palette with colours that these dies can't make."""
        found = {}
        for given, _ in self._palettes.values():
            far = change([s.rgb for s in given.stops], self._dies.even) > NOTICEABLE
            texts = [s.text for s, beyond in zip(given.stops, far, strict=True) if beyond]
            if texts:
                some = ", ".join(texts[:3]) + (", …" if len(texts) > 3 else "")
                found[given.name] = (
                    f'palette "{given.name}": {some} is beyond what these pixels can make; '
                    "the nearest colour of its hue is shown"
                )
        return tuple(found.values())

    def _palette(self, palette: Palette) -> Palette:
        # The given one is kept too, so that its id stays its own.
        if id(palette) not in self._palettes:
            self._palettes[id(palette)] = (palette, palette.mixed(self._dies.even))
        return self._palettes[id(palette)][1]

    def _raster(self, raster: Raster) -> Raster:
        if id(raster) not in self._rasters:
            frames = [self._frame(frame) for frame in raster.srgb]  # one at a time: they are large
            made = Raster(np.stack(frames), raster.ends, raster.name)
            self._rasters[id(raster)] = (raster, made)
        return self._rasters[id(raster)][1]

    def _frame(self, codes: NDArray[np.uint8]) -> NDArray[np.uint8]:
        mixed = to_srgb(brought_in(_LIGHT[codes], self._dies.even))
        return np.rint(255 * mixed).astype(np.uint8)
