"""`Option`: a way to feed a line, verified by the network solver."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lumenmap.house.supplies import Bus, Feed
from lumenmap.parts.fuses import continuous_load
from lumenmap.power.report.analysis import analyse, full_white
from lumenmap.site import Site

#: The name of a plan's bus in the house that is solved; no name in a file contains a tab.
_BUS = "plan\tbus"


@dataclass(frozen=True, slots=True)
class PlannedFeed:
    """A suggested feed: m along the line, lead-in in m one way, fuse (A), current at white (A)."""

    at: float
    pixel: int
    wire: str
    length: float
    fuse: float
    amps: float


@dataclass(frozen=True, slots=True)
class PlannedBus:
    """A bus from a line's start to its end: length one way and distance between ties (m)."""

    wire: str
    length: float
    every: float


@dataclass(frozen=True, slots=True)
class Option:
    """A way to feed a line.

    Attributes
    ----------
    feeds
        Empty if this many feeds aren't enough.
    lowest
        The lowest voltage at a pixel at full white, by the network solver (V).
    copper
        In the lead-ins and the bus (g).
    cost
        In the owner's currency, or None if a price is missing.
    why_not
        Why it isn't enough; empty if it is.
    bus
        Alongside the line, if there is one.
    """

    count: int
    feeds: tuple[PlannedFeed, ...]
    lowest: float
    copper: float
    cost: float | None
    why_not: str = ""
    bus: PlannedBus | None = None


def verify(
    site: Site,
    line: str,
    supply: str,
    feeds: list[PlannedFeed],
    bus: PlannedBus | None = None,
) -> tuple[float, list[float], str]:
    """Solve a site with a line fed by a plan, at full white.

    Returns
    -------
    lowest, amps, wrong
        The lowest V on the line, A of each feed, and why the plan fails, or the empty string.
    """
    fed, new = _with_plan(site, line, supply, feeds, bus)
    white = analyse(fed, full_white(fed.pixels), "")
    lowest = next(x.lowest for x in white.lines if x.name == line)
    amps = [white.feeds[f.name] for f in new]
    for k, (f, a) in enumerate(zip(feeds, amps, strict=True)):
        point = next(p for p in fed.wiring.fuses if p.owner == f"plan {k}")
        thin = fed.wiring.may_carry(*fed.wiring.thinnest(fed.wiring.behind(point)))
        if not a <= continuous_load(f.fuse) * (1 + 1e-6) or f.fuse > thin:
            return (
                lowest,
                amps,
                f"a feed of {f.wire} with a fuse of {f.fuse:g} A can't carry {a:.3f} A",
            )
    for w in white.wires:
        own = (w.kind, w.owner) in (("string", line), ("bus", _BUS))
        if own and w.may is not None and w.amps > w.may * (1 + 1e-6):
            return (
                lowest,
                amps,
                f"the {w.kind} would carry {w.amps:.2f} A of the {w.may:g} A it may",
            )
    if lowest < site.house.kind.min_volts - 1e-4:
        return lowest, amps, f"the lowest voltage would be {lowest:.2f} V"
    return lowest, amps, ""


def _with_plan(
    site: Site, line: str, supply: str, feeds: list[PlannedFeed], bus: PlannedBus | None
) -> tuple[Site, list[Feed]]:
    """Return the site with a line fed by a plan only, and the plan's feeds."""
    new = [
        Feed(f"plan {k}", supply, line, f"{f.at!r} m", f.wire, f.length, f.fuse)
        for k, f in enumerate(feeds)
    ]
    house = site.house
    others = tuple(f for f in house.feeds if f.line != line)
    lines = tuple(replace(x, cuts=()) if x.name == line else x for x in house.lines)
    buses = [b for b in house.buses if b.line != line]
    if bus:
        buses.append(Bus(_BUS, line, bus.wire, "start", "end", bus.every))
    return site.rewired(feeds=(*others, *new), lines=lines, buses=tuple(buses)), new
