"""`sweep`: a fault of any resistance at any pixel, and what the fuses let through until they blow.

Strategy: a fault is one more load. What 1 A there does to every wire is one solve; how much flows
follows from the volts and the resistance that the fault sees. Light that is on goes on drawing what
it drew, although its volts fall: so the wires carry more here than they would.

A wire may carry more than its table's amps for as long as a fuse of just these amps would let it.
It is in danger if the fuses there are stand longer than that.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.parts.fuses import longest_stand
from lumenmap.power.circuit.wiring import Conductor
from lumenmap.site import Site

F = NDArray[np.float64]

#: What is said if the fuses clear every fault.
CLEAR = (
    "a fault of any resistance from 1 milliohm to 100 ohm, dark or lit, puts more than its table's "
    "amps through no wire for longer than the curve of its fuse allows."
)

#: Resistances of the fault (ohm).
OHMS: F = np.logspace(-3, 2, 51)
#: Pixels of each line that a fault is tried at, at most, besides those next to its connectors.
_EVEN = 24
#: A smaller share of a fault's current doesn't count as a fuse's.
_SHARE = 0.01


@dataclass(frozen=True, slots=True)
class Overload:
    """What a fault puts through a wire.

    Attributes
    ----------
    line, pixel, ohms, lit
        Where the fault is, its resistance, and whether everything is lit.
    wire, amps, may
        The wire, A through it, and A that it may carry.
    times, seconds
        What the most loaded fuse carries, as a multiple of its rating, and how long it may stand.
    """

    line: str
    pixel: int
    ohms: float
    lit: bool
    wire: str
    amps: float
    may: float
    times: float
    seconds: float

    def __str__(self) -> str:
        stands = "may never blow" if self.seconds == np.inf else f"may stand for {self.seconds:g} s"
        return (
            f'A fault of {self.ohms:.2g} ohm at pixel {self.pixel} of line "{self.line}" puts '
            f"{self.amps:.1f} A through {self.wire}, which may carry {self.may:g} A, while no fuse "
            f"carries more than {self.times:.2f} times its rating and so {stands}."
        )


@dataclass(frozen=True, slots=True)
class Sweep:
    """The outcome: how many faults were tried, and the worst that the fuses don't clear."""

    faults: int
    worst: Overload | None

    def __str__(self) -> str:
        return str(self.worst) if self.worst else CLEAR


def sweep(site: Site, level: float = 1.0) -> Sweep:
    """Try faults of any resistance all over a site, dark and at ``level`` of full white."""
    kind, faults = site.house.kind, _Faults(site)
    worst: Overload | None = None
    at = [site.pixels.lines[i].first + k for i, k in _pixels(site)]
    for lit in (False, True):
        each = (kind.idle_ma + lit * level * sum(kind.channel_ma)) / 1000
        for found in faults.of(at, each, lit):
            if worst is None or found.amps / found.may > worst.amps / worst.may:
                worst = found
    return Sweep(2 * len(at) * len(OHMS), worst)


class _Faults:
    """The wires and fuses of a site, and what faults put through them."""

    def __init__(self, site: Site) -> None:
        wiring = site.wiring
        self.site, self.network = site, wiring.network
        self.which = np.array([c.resistor for c in wiring.conductors])
        self.may = np.array([_may(site, c) for c in wiring.conductors])
        rows = {r: i for i, r in enumerate(self.which.tolist())}
        fused = [(rows[f.conductor.resistor], f.amps) for f in wiring.fuses if f.amps]
        self.fuses = np.array([i for i, _ in fused], np.intp)
        self.rating = np.array([a for _, a in fused])

    def of(self, pixels: list[int], each: float, lit: bool) -> Iterator[Overload]:
        """Yield the worst that isn't cleared at each pixel, with ``each`` A drawn by all."""
        loads = np.full((1 + len(pixels), len(self.site.pixels)), each)
        loads[np.arange(1, len(loads)), pixels] += 1.0
        solved = self.network.solve(loads)
        flows, across = self.network.flow(solved, self.which), self.network.at_loads(solved)
        flow, volts = flows[0], across[0]
        for i, pixel in enumerate(pixels, 1):
            share, seen = flows[i] - flow, volts[pixel] - across[i, pixel]
            through = np.abs(flow + (volts[pixel] / (seen + OHMS))[:, None] * share)
            over = through / self.may
            own = np.abs(share[self.fuses]) > _SHARE
            times = np.where(own, through[:, self.fuses] / self.rating, 0.0).max(1, initial=0.0)
            most = over.max(axis=1)
            # Only what is over its amps is looked up: most faults leave every wire within them.
            for k in np.flatnonzero(most > 1 + 1e-9).tolist():
                if longest_stand(times[k]) > longest_stand(most[k]):
                    wire = int(over[k].argmax())
                    yield self._overload(pixel, k, lit, (wire, through[k, wire], times[k]))

    def _overload(self, pixel: int, k: int, lit: bool, what: tuple[int, float, float]) -> Overload:
        wire, amps, times = what
        line = self.site.pixels.lines[int(self.site.pixels.line[pixel])]
        c = self.site.wiring.conductors[wire]
        return Overload(
            line.name,
            pixel - line.first + 1,
            float(OHMS[k]),
            lit,
            f'the {c.kind} wire of "{c.owner}"',
            float(amps),
            float(self.may[wire]),
            float(times),
            longest_stand(times),
        )


def _pixels(site: Site) -> list[tuple[int, int]]:
    """Return (line, pixel) from 0 where a fault is tried: evenly spread, and next to connectors."""
    found = []
    for i, span in enumerate(site.pixels.lines):
        places = site.places[span.name]
        own = set(np.linspace(0, span.count - 1, min(_EVEN, span.count)).astype(int).tolist())
        for connector in places.connectors:
            before = places.pixel_before(connector.wire)
            own |= {k for k in (before - 1, before) if 0 <= k < span.count}
        found += [(i, k) for k in sorted(own)]
    return found


def _may(site: Site, conductor: Conductor) -> float:
    owner = (conductor.kind, conductor.owner)
    return site.wiring.may_carry(*owner) if owner in site.wiring.wires else np.inf
