"""How far ngspice and lumenmap differ on one house in one state."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.power.report.analysis import Analysis, analyse
from lumenmap.site import Site
from tests.power.spice.figures import PIXELS
from tests.power.spice.netlist import Netlist
from tests.power.spice.simulator import Solved, simulate

#: Both solve the same equations, so they may differ by ngspice's tolerance only, V and A. They were
#: seen to differ by 1e-8 V and 5e-8 A.
SAME = 1e-5


class Difference(NamedTuple):
    """A figure of both: ngspice's and lumenmap's, V or A."""

    what: str
    spice: float
    ours: float

    @property
    def size(self) -> float:
        return abs(self.spice - self.ours)


class Compared(NamedTuple):
    """All figures of one state: V at pixels, A of everything else."""

    volts: list[Difference]
    amps: list[Difference]


def compare(text: str, state: int | None, folder: Path) -> Compared:
    """Solve a house twice.

    Parameters
    ----------
    text : the house file.
    state : None for full white, else the seed of random codes.
    folder : where the house file may be written.
    """
    file = folder / "house.toml"
    file.write_text(text, "utf-8")
    site = Site.read(file)
    codes = lit(site, state)
    netlist = Netlist(text, site.pixels, codes)
    solved = simulate(netlist)
    ours = analyse(site, codes[None], "compared")
    volts = [
        Difference(f"pixel {k + 1}", float(a), float(b))
        for k, (a, b) in enumerate(zip(solved.volts, ours.volts, strict=True))
    ]
    return Compared(volts, [*_reported(solved, ours), *_stretches(site, solved, ours)])


def lit(site: Site, state: int | None) -> NDArray[np.uint8]:
    """Return codes: full white, or random ones, of which a third are 0 and a third 255."""
    shape = len(site.pixels), len(PIXELS[site.pixels.kind.name].channel_mA)
    if state is None:
        return np.full(shape, 255, np.uint8)
    rng = np.random.default_rng(state)
    return np.clip(rng.integers(-255, 511, shape), 0, 255).astype(np.uint8)


def _reported(solved: Solved, ours: Analysis) -> list[Difference]:
    """The report's figures: of supplies, and of the plus of feeds, trunks and taps."""
    flowing = ours.flowing
    found = [Difference(f"supply {n}", a, flowing.supplies[n]) for n, a in solved.supplies.items()]
    first: dict[tuple[str, str], float] = {}
    largest: dict[tuple[str, str], float] = defaultdict(float)
    for row, amps in solved.branches:
        if row.plus:
            first.setdefault((row.kind, row.owner), amps)
        largest[row.kind, row.owner] = max(largest[row.kind, row.owner], abs(amps))
    for kind, own in (("feed", flowing.feeds), ("trunk", flowing.trunks), ("tap", flowing.taps)):
        found += [Difference(f"{kind} {n}", first[kind, n], amp) for n, amp in own.items()]
        assert {n for k, n in first if k == kind} == set(own), f"not the same {kind}s"
    wires = {(wire.kind, wire.owner): wire.amps for wire in ours.wires}
    assert wires.keys() == largest.keys(), wires.keys() ^ largest.keys()
    return found + [Difference(f"most in {k} {n}", largest[k, n], wires[k, n]) for k, n in wires]


def _stretches(site: Site, solved: Solved, ours: Analysis) -> list[Difference]:
    """Each tie, each stretch of string, bus and trunk, plus and minus, by itself."""
    theirs: dict[tuple[str, str, bool], list[float]] = defaultdict(list)
    for row, amps in solved.branches:
        theirs[row.kind, row.owner, row.plus].append(abs(amps))
    own: dict[tuple[str, str, bool], list[float]] = defaultdict(list)
    conductors = site.wiring.conductors
    flows = site.wiring.network.flow(ours.steady_state.volts, [c.resistor for c in conductors])
    for conductor, amps in zip(conductors, flows[0], strict=True):
        plus = conductor.polarity == "positive"
        own[conductor.kind, conductor.owner, plus].append(abs(float(amps)))
    assert own.keys() == theirs.keys()
    found = []
    for key, values in theirs.items():
        assert len(values) == len(own[key]), (key, len(values), len(own[key]))
        for k, (a, b) in enumerate(zip(values, own[key], strict=True)):
            found.append(Difference(f"{' '.join(map(str, key))} {k + 1}", a, b))
    return found
