"""One frame: the current in every supply, fuse and wire, and the voltage at every pixel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.parts.ampacity import ampacity
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.circuit.undervoltage import SteadyState, solve_steady_state
from lumenmap.power.circuit.wiring import ConductorKind
from lumenmap.site import Site

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class WireFigures:
    """The highest current in a wire: A, where (m along its line), and the A it may carry."""

    kind: ConductorKind
    owner: str
    size: str
    amps: float
    at: float
    may: float | None
    lost_watts: float


@dataclass(frozen=True, slots=True)
class LineFigures:
    """The lowest voltage on a line.

    Attributes
    ----------
    name
        Of the line.
    lowest, pixel, at
        V, and where: number of the pixel on the line (from 1), m along it.
    short
        How many pixels are below their minimum voltage.
    """

    name: str
    lowest: float
    pixel: int
    at: float
    short: int


@dataclass(frozen=True, slots=True, eq=False)
class Analysis:
    """The currents and voltages of one frame.

    Attributes
    ----------
    title
        Which frame it is.
    volts
        (N,) V across each pixel.
    supplies, feeds
        A by name.
    wanted
        A by supply and feed that the pixels would take if every one had its full voltage.
    wires, lines
        Figures of each wire and each line.
    drawn_watts, lost_watts
        Drawn from the supplies, and the part of it lost in wire.
    steady_state
        The whole steady state.
    """

    title: str
    volts: F
    supplies: dict[str, float]
    feeds: dict[str, float]
    wanted: dict[str, float]
    wires: tuple[WireFigures, ...]
    lines: tuple[LineFigures, ...]
    drawn_watts: float
    lost_watts: float
    steady_state: SteadyState


def full_white(pixelmap: PixelMap) -> NDArray[np.uint8]:
    """Return one frame (1, N, C) with every channel of every pixel at full."""
    return np.full((1, len(pixelmap), pixelmap.kind.channels), 255, np.uint8)


def analyse(site: Site, codes: NDArray[np.uint8], title: str) -> Analysis:
    """Solve one frame of codes (1, N, C), canonical order."""
    house, pixelmap, wiring = site.house, site.pixels, site.wiring
    state = solve_steady_state(wiring.network, codes, pixelmap.kind)
    flow = wiring.network.flow(state.volts, [c.resistor for c in wiring.conductors])[0]
    siemens = wiring.network.siemens[[c.resistor for c in wiring.conductors]]
    heat = flow**2 / siemens
    feeds = {
        c.owner: float(a)
        for c, a in zip(wiring.conductors, flow, strict=True)
        if (c.kind, c.polarity) == ("feed", "positive")
    }
    supplies = {
        s.name: sum(feeds[f.name] for f in wiring.feeds if f.supply == s.name)
        for s in house.supplies
    }
    volts = {s.name: s.volts for s in house.supplies}
    return Analysis(
        title,
        state.at_pixels[0],
        supplies,
        feeds,
        _wanted(site, codes),
        tuple(_wires(site, np.abs(flow), heat)),
        tuple(_line(span.name, state.at_pixels[0], pixelmap) for span in pixelmap.lines),
        sum(volts[name] * amps for name, amps in supplies.items()),
        float(heat.sum()),
        state,
    )


def _wanted(site: Site, codes: NDArray[np.uint8]) -> dict[str, float]:
    """Return what each supply and feed would give (A) if no voltage were too low."""
    budgets = site.budgets
    drawn = budgets.amps_of(codes)[0].tolist()
    # The first budget of a name is that of its positive conductor.
    return dict(reversed(list(zip(budgets.names, drawn, strict=True))))


def _wires(site: Site, flow: F, heat: F) -> list[WireFigures]:
    wiring = site.wiring
    runs: dict[tuple[ConductorKind, str], list[int]] = {}
    for i, c in enumerate(wiring.conductors):
        runs.setdefault((c.kind, c.owner), []).append(i)
    found = []
    for (kind, owner), which in runs.items():
        size = wiring.wires.get((kind, owner))
        most = max(which, key=lambda i: flow[i])
        may = ampacity(size, site.house.wire_defaults.ampacity) if size else None
        found.append(
            WireFigures(
                kind,
                owner,
                size.name if size else "",
                float(flow[most]),
                wiring.conductors[most].at,
                may,
                float(heat[which].sum()),
            )
        )
    return found


def _line(name: str, volts: F, pixelmap: PixelMap) -> LineFigures:
    span = next(s for s in pixelmap.lines if s.name == name)
    own = volts[span.slice]
    low = int(own.argmin())
    # 1e-6: a pixel that is at its minimum but for float rounding is at its minimum.
    short = int((own < pixelmap.kind.min_volts - 1e-6).sum())
    at = float(pixelmap.along_line[span.first + low])
    return LineFigures(name, float(own[low]), low + 1, at, short)
