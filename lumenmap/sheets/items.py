"""`Item`: a line of the bill; and what the rails need."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from lumenmap.core.lengths import show_length, show_written
from lumenmap.pixels.edge_layout import EdgeLayout
from lumenmap.sheets.rails.clips import clips, clips_apart
from lumenmap.sheets.rails.rails import PlacedRail
from lumenmap.sheets.rails.stock import Bar
from lumenmap.site import Site


@dataclass(frozen=True, slots=True)
class Item:
    """A line of the bill.

    Attributes
    ----------
    name, unit
        What it is, and what it is counted in.
    needed, spare
        How much the house takes, and how much to have in the drawer.
    price
        Its key in ``[buying] prices``.
    holds, of
        How many of what else it holds, whose price counts if its own isn't given: 50, "pixel".
    """

    name: str
    needed: float
    spare: float
    unit: str
    price: str
    holds: int = 1
    of: str = ""

    @property
    def total(self) -> float:
        """The sum of needed and spare."""
        return self.needed + self.spare


#: A straight piece joins rails whose directions differ by no more than this [C].
STRAIGHT = math.cos(math.radians(5))


def corners(layout: EdgeLayout) -> list[float]:
    """Return where an edge has a corner, from its start (m); none where rails bend with it."""
    edge = layout.edge
    ways = np.diff(edge.points, axis=0)
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    along = [float(k) for k in layout.knots[1:-1]]
    turns = (ways[:-1] * ways[1:]).sum(1)
    return [] if edge.flexible else [k for k, t in zip(along, turns, strict=True) if t < STRAIGHT]


def chains(
    placed: list[PlacedRail], slack: Fraction, bends: Mapping[str, Sequence[float]]
) -> list[int]:
    """Return how many rails hang end to end, and in line, in each row.

    Parameters
    ----------
    slack
        At most between them (m).
    bends
        Where each edge has corners: no straight piece joins rails round one.
    """
    found: list[int] = []
    before: PlacedRail | None = None
    for rail in sorted(placed, key=lambda r: (r.edge, r.start)):
        meets = before is not None and before.edge == rail.edge
        if before is not None and meets:
            # A rail may be cut shorter by a gap or a saw cut, to be like others.
            apart = rail.start - before.start - before.pattern.length
            near, far = (
                before.start + before.pattern.length / 2,
                rail.start + rail.pattern.length / 2,
            )
            meets = apart <= slack + Fraction(1, 1000)
            meets = meets and not any(near < k < far for k in bends.get(rail.edge, ()))
        if meets:
            found[-1] += 1
        else:
            found.append(1)
        before = rail
    return found


def rail_items(site: Site, placed: list[PlacedRail], bars: list[Bar]) -> Iterator[Item]:
    """Yield rails, clips, end caps and couplings."""
    house = site.house
    apart = clips_apart(house.unit)
    yield Item(f"rail, {show_written(house.rail.length, house.unit)}", len(bars), 0, "", "rail")
    yield Item(
        f"rail clips, at most {show_length(apart, house.unit)} apart",
        sum(len(clips(r.pattern, house.unit)) for r in placed),
        0,
        "",
        "clip",
    )
    bends = {name: corners(x) for name, x in site.line_layouts[0].edge_layouts.items()}
    rows = chains(placed, house.rail.gap + max(house.rail.gap, house.rail.kerf), bends)
    if joints := sum(rows) - len(rows):
        kind = "expansion coupling" if house.rail.gap else "coupling"
        yield Item(f"{kind}, one side free to slide", joints, 0, "", "coupling")
    yield Item("end cap, with a hole for the wire", 2 * len(rows), 0, "", "cap")
