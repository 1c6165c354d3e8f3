"""`Site`: a house with its pixels, wiring and budgets, each calculated once, when first needed."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.dies import Dies
from lumenmap.house.model import House
from lumenmap.house.reading.load import load_house
from lumenmap.parts.light import dies_of
from lumenmap.pixels.build import layout_lines, map_pixels
from lumenmap.pixels.line_layout import LineLayout
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.pixels.regions import flash_regions
from lumenmap.power.circuit.assembly import build_wiring
from lumenmap.power.circuit.places import LinePlaces, line_places
from lumenmap.power.circuit.wiring import PowerWiring
from lumenmap.power.limits.budgets import Budgets, budgets, unlimited
from lumenmap.power.verdict.verdict import Verdict, verdict


class Site:
    """A house and all that follows from its file alone.

    Parameters
    ----------
    house
        The house.
    pixels
        Its pixel map, if there is one already; mapped when first needed otherwise.
    """

    def __init__(self, house: House, pixels: PixelMap | None = None) -> None:
        self.house = house
        if pixels is not None:
            self.__dict__["pixels"] = pixels

    @classmethod
    def read(cls, file: Path | str) -> Site:
        """Read a house file.

        Raises
        ------
        InputError
            Anything wrong in it, with its key and what would be right.
        """
        return cls(load_house(file))

    @cached_property
    def line_layouts(self) -> list[LineLayout]:
        """The layout of each line: its runs along edges, in the order of the data."""
        return layout_lines(self.house)

    @cached_property
    def pixels(self) -> PixelMap:
        """Where each of the N pixels is, in wiring order.

        Raises
        ------
        InputError
            Too many pixels, none at all, a gap with no jumper, or strings that don't fit.
        """
        return map_pixels(self.house, self.line_layouts)

    @cached_property
    def places(self) -> dict[str, LinePlaces]:
        """The places of each line: where its pixels, connectors, feeds and taps are."""
        return line_places(self.house, self.pixels)

    @cached_property
    def wiring(self) -> PowerWiring:
        """The wiring as a network of supplies, conductors and pixels.

        Raises
        ------
        InputError
            No supply, pixels without a feed, the positives of two supplies connected.
        """
        return build_wiring(self.house, self.pixels)

    @cached_property
    def budgets(self) -> Budgets:
        """What every supply, fuse and wire may carry, in A; without a supply, no limit at all.

        Raises
        ------
        InputError
            As `wiring`; idle current alone above a budget.
        """
        if not self.house.supplies:  # it can be drawn; `verdict` keeps light away from it
            return unlimited(self.pixels)
        return budgets(self.house, self.pixels, self.wiring)

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What is assumed of the wiring, a sentence each with the key that says it instead."""
        return self.house.assumptions

    @cached_property
    def verdict(self) -> Verdict:
        """What is dangerous about the wiring, and what of it the house file accepts.

        Raises
        ------
        InputError
            A position that isn't on its line, or a wire without an ampacity.
        """
        return verdict(self.house, self.places, lambda: self.wiring)

    @cached_property
    def flash_regions(self) -> dict[str, NDArray[np.intp]]:
        """The regions in which flashes are counted: the house as a whole, and each edge."""
        return flash_regions(self.pixels)

    @cached_property
    def dies(self) -> Dies:
        """The colours of its pixels' dies."""
        return dies_of(self.house.kind)

    def rewired(self, **changes: Any) -> Site:
        """Return the site with other supplies, feeds, buses or wiring; no pixel moves."""
        return Site(replace(self.house, **changes), self.pixels)

    def __repr__(self) -> str:
        """Return one line with the name of the house; nothing is calculated for it."""
        return f"<Site {self.house.name!r} from {self.house.file}>"
