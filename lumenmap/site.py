"""`Site`: a house with its pixels, wiring and budgets, each worked out once, when first needed."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Any

from lumenmap.colour.dies import Dies
from lumenmap.house.load import load_house
from lumenmap.house.model import House
from lumenmap.pixels.build import map_pixels, walk_house
from lumenmap.pixels.line_layout import Walk
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.circuit.wiring import Wired, wire_up
from lumenmap.power.limits.budgets import Budgets, budgets


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
    def walks(self) -> list[Walk]:
        """Each line's way over the edges, in the order of the data."""
        return walk_house(self.house)

    @cached_property
    def pixels(self) -> PixelMap:
        """Where each of the N pixels is, in wiring order.

        Raises
        ------
        InputError
            Too many pixels, none at all, a gap with no jumper, or strings that don't fit.
        """
        return map_pixels(self.house, self.walks)

    @cached_property
    def wired(self) -> Wired:
        """The wiring as a network of supplies, conductors and pixels.

        Raises
        ------
        InputError
            No supply, pixels that nothing feeds, two supplies on one positive.
        """
        return wire_up(self.house, self.pixels)

    @cached_property
    def budgets(self) -> Budgets:
        """What every supply, fuse and wire may carry, in A.

        Raises
        ------
        InputError
            As `wired`; idle current alone above a budget.
        """
        return budgets(self.house, self.pixels, self.wired)

    @cached_property
    def dies(self) -> Dies:
        """The colours of its pixels' dies."""
        kind = self.house.kind
        return Dies(kind.dominant_nm, kind.intensity)

    def rewired(self, **changes: Any) -> Site:
        """Return the site with other supplies, feeds, buses or wiring; no pixel moves."""
        return Site(replace(self.house, **changes), self.pixels)

    def __repr__(self) -> str:
        """Name the house in one line; nothing is worked out for it."""
        return f"<Site {self.house.name!r} from {self.house.file}>"
