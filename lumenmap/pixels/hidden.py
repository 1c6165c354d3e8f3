"""Pixels inside the building, such as on an eave that continues into a wing: nobody sees them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.lengths import show_length
from lumenmap.core.units import INCH
from lumenmap.house.choices import Unit
from lumenmap.house.masses.filled import inside
from lumenmap.house.masses.mass import Mass
from lumenmap.house.model import Edge, House
from lumenmap.house.paths import met
from lumenmap.pixels.pixelmap import PixelMap

#: Hidden stretches this near to each other (m) are reported as one: between a roof and the wall
#: under it a pixel or two may be outside.
MERGE = 0.4
#: Where an edge meets a mass is this near (m) to the holes on both sides of it: pixels just inside,
#: or in the overhang's edge, aren't called hidden.
ABOUT = 0.25
#: Marks of a tape from coarse to fine, to find the roundest position between two holes (m).
FEET = tuple(INCH * n for n in (12, 6, 1, Fraction(1, 2), Fraction(1, 4), Fraction(1, 16)))
METRES = tuple(Fraction(n, 1000) for n in (1000, 500, 100, 50, 10, 5, 1))


def hidden(house: House, pixels: PixelMap) -> list[str]:
    """Return a sentence for each stretch of pixels inside a mass other than its own."""
    owner = _inside(house, pixels)
    found: list[str] = []
    key = pixels.line.astype(np.int64) * (len(pixels.edge_names) + 1) + pixels.edge
    for run in np.split(np.arange(len(pixels)), np.flatnonzero(np.diff(key)) + 1):
        if (owner[run] >= 0).any():
            order = run[np.argsort(pixels.along_edge[run])]
            found += _stretches(house, pixels, order, owner)
    return found


def _inside(house: House, pixels: PixelMap) -> NDArray[np.int64]:
    """Return (N,) the index of the mass that each pixel is in, -1 for none."""
    owner = np.full(len(pixels), -1)
    names = [house.edges[n].mass or n.partition("/")[0] for n in pixels.edge_names]
    for number, mass in enumerate(house.masses):
        other = np.array([name != mass.name for name in names] + [False])  # -1: a hidden pixel
        asked = np.flatnonzero(other[pixels.edge] & (owner < 0))
        owner[asked[inside(mass, pixels.xyz[asked])]] = number
    return owner


def _stretches(
    house: House, pixels: PixelMap, order: NDArray[np.int64], owner: NDArray[np.int64]
) -> Iterator[str]:
    """Yield the sentences of one run; ``order``: its pixels by their position along the edge."""
    along = pixels.along_edge[order]
    dark = np.flatnonzero(owner[order] >= 0)
    apart = (np.diff(dark) > 1) & (np.diff(along[dark]) > MERGE)
    for part in np.split(dark, np.flatnonzero(apart) + 1):
        low, high = int(part[0]), int(part[-1])
        span = pixels.lines[pixels.line[order[0]]]
        first, last = sorted(int(k) - span.first + 1 for k in (order[low], order[high]))
        name = pixels.edge_names[pixels.edge[order[0]]]
        masses = [house.masses[i] for i in sorted(set(owner[order[part]].tolist()))]
        which = f"pixels {first}-{last}" if last > first else f"pixel {first}"
        yield (
            f'line "{span.name}": {which} of {name} {"are" if last > first else "is"} inside '
            f"{' and '.join(m.name for m in masses)}, where nobody sees "
            f"{'them' if last > first else 'it'}; "
            f"{_advice(along, (low, high), Met(house.edges[name], masses, house.unit))}"
        )


class Met(NamedTuple):
    """An edge and the masses that a stretch of it is in."""

    edge: Edge
    masses: Sequence[Mass]
    unit: Unit

    def place(self, low: float, high: float, *, into: bool) -> str:
        """Return a place between two holes: where the edge meets a mass, or else as a length."""
        for mass in self.masses:
            at = met(self.edge, mass, into=into)
            if at is not None and low - ABOUT <= at <= high + ABOUT:
                return f'"meets {mass.name}"'
        return f'"{show_length(between(low, high, self.unit), self.unit)}"'


def _advice(along: NDArray[np.float64], dark: tuple[int, int], edge: Met) -> str:
    """Return where to end or start the edge so that it has no hidden pixels.

    A pixel or two between them and the edge's end aren't worth a wire through the building.
    """
    low, high = dark
    last = len(along) - 1
    stop = start = ""
    if low > 0 and (along[low] - along[0] > MERGE or high == last):
        stop = f"stop = {edge.place(along[low - 1], along[low], into=True)}"
    if high < last and (along[last] - along[high] > MERGE or low == 0):
        start = f"start = {edge.place(along[high], along[high + 1], into=False)}"
    if stop and start:
        return f"end the edge with {stop}, and continue it with {start}"
    if stop:
        return f"end the edge with {stop}"
    return f"start the edge with {start}" if start else "leave it out of the path"


def between(low: float, high: float, unit: Unit) -> Fraction:
    """Return the roundest position on a tape between two holes (m), or else their middle."""
    for step in FEET if unit in ("ft", "in") else METRES:
        position = round(Fraction((low + high) / 2) / step) * step
        if low + 0.001 < position < high - 0.001:
            return position
    return Fraction((low + high) / 2)
