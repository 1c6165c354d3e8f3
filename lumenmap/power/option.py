"""A way to feed a line, and whether the network solver bears it out."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lumenmap.core.errors import InputError
from lumenmap.house.model import House
from lumenmap.house.supplies import Feed
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.fuses import load_of
from lumenmap.parts.wires import wire
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.analysis import analyse, full_white
from lumenmap.power.wiring import wire_up


@dataclass(frozen=True, slots=True)
class PlannedFeed:
    """A feed as suggested: m along the line, wire, m of lead-in one way, A of fuse, A at white."""

    at: float
    pixel: int
    wire: str
    length: float
    fuse: float
    amps: float


@dataclass(frozen=True, slots=True)
class Option:
    """A way to feed a line.

    Attributes
    ----------
    feeds
        Where and with what; empty if this many feeds can't do it.
    lowest
        V at the worst pixel at full white, by the network solver.
    copper
        Grams of it in the lead-ins.
    cost
        In the owner's money, or None where a price is missing.
    why_not
        What stands in the way, if anything.
    """

    count: int
    feeds: tuple[PlannedFeed, ...]
    lowest: float
    copper: float
    cost: float | None
    why_not: str = ""


def verify(
    house: House, pixelmap: PixelMap, line: str, supply: str, feeds: list[PlannedFeed]
) -> tuple[float, list[float]]:
    """Solve a house with a line so fed; return the lowest V on it, and A of each feed.

    Raises
    ------
    InputError
        The plan does not hold, which would be the planner's mistake.
    """
    new = [
        Feed(f"plan {k}", supply, line, f"{f.at!r} m", f.wire, f.length, f.fuse)
        for k, f in enumerate(feeds)
    ]
    others = tuple(f for f in house.feeds if f.line != line)
    lines = tuple(replace(x, cuts=()) if x.name == line else x for x in house.lines)
    buses = tuple(b for b in house.buses if b.line != line)
    fed = replace(house, feeds=(*others, *new), lines=lines, buses=buses)
    white = analyse(fed, pixelmap, wire_up(fed, pixelmap), full_white(pixelmap), "")
    lowest = next(x.lowest for x in white.lines if x.name == line)
    amps = [white.feeds[f.name] for f in new]
    for f, a in zip(feeds, amps, strict=True):
        thin = min(ampacity(wire(w), house.wiring.ampacity) for w in (f.wire, house.wiring.string))
        if not a <= load_of(f.fuse) * (1 + 1e-6) or f.fuse > thin:
            raise InputError(f"suggested feed of {f.wire} and {f.fuse:g} A does not hold {a:.3f} A")
    if lowest < pixelmap.kind.min_volts - 1e-4:
        raise InputError(f"suggested feeds leave {lowest:.3f} V on line {line}")
    return lowest, amps
