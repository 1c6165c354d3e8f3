"""One frame: the current in every supply, fuse and wire, and the voltage at every pixel."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.circuit.undervoltage import SteadyState, solve_steady_state
from lumenmap.power.circuit.wiring import ConductorKind, Owner
from lumenmap.site import Site

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class WireFigures:
    """The highest current in a wire: A, where (m along its line), and the A it may carry.

    ``wanted`` is the highest if every pixel had the volts for its full current (A).
    """

    kind: ConductorKind
    owner: str
    size: str
    amps: float
    at: float
    may: float | None
    lost_watts: float
    wanted: float


@dataclass(frozen=True, slots=True)
class Currents:
    """A by the name of each supply, feed, trunk and tap."""

    supplies: dict[str, float]
    feeds: dict[str, float]
    trunks: dict[str, float]
    taps: dict[str, float]


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
        A by name, as they flow: a pixel with too few volts draws less than it wants.
    flowing, wanted
        The same and those of trunks and taps; and what they would be if every pixel had the volts
        for its full current, which is what a frame is said to draw.
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
    flowing: Currents
    wanted: Currents
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
    which = [c.resistor for c in wiring.conductors]
    flow = wiring.network.flow(state.volts, which)[0]
    kind = pixelmap.kind
    full = codes @ (np.array(kind.channel_ma) / 1000 / 255) + kind.idle_ma / 1000
    wanted = wiring.network.flow(wiring.network.solve(full), which)[0]
    heat = flow**2 / wiring.network.siemens[which]
    volts = {s.name: s.volts for s in house.supplies}
    flowing = _currents(site, flow)
    return Analysis(
        title,
        state.at_pixels[0],
        flowing.supplies,
        flowing.feeds,
        flowing,
        _currents(site, wanted),
        tuple(_wires(site, np.abs(flow), np.abs(wanted), heat)),
        tuple(_line(span.name, state.at_pixels[0], pixelmap) for span in pixelmap.lines),
        sum(volts[name] * amps for name, amps in flowing.supplies.items()),
        float(heat.sum()),
        state,
    )


def _currents(site: Site, flow: F) -> Currents:
    """Return A by name from those of every conductor."""
    wiring = site.wiring
    through = {c.resistor: float(a) for c, a in zip(wiring.conductors, flow, strict=True)}

    def first(kind: ConductorKind, names: Iterable[str]) -> dict[str, float]:
        return {name: through[wiring.of(kind, name, "positive")[0].resistor] for name in names}

    return Currents(
        {
            s.name: sum(through[c.resistor] for c in wiring.sources(s.name))
            for s in site.house.supplies
        },
        first("feed", (f.name for f in wiring.feeds)),
        first("trunk", (t.name for t in wiring.trunks)),
        first("tap", (t.name for t in wiring.taps)),
    )


def _wires(site: Site, flow: F, wanted: F, heat: F) -> list[WireFigures]:
    wiring = site.wiring
    runs: dict[Owner, list[int]] = {}
    for i, c in enumerate(wiring.conductors):
        runs.setdefault((c.kind, c.owner), []).append(i)
    found = []
    for (kind, owner), which in runs.items():
        size = wiring.wires.get((kind, owner))
        most = max(which, key=lambda i: flow[i])
        found.append(
            WireFigures(
                kind,
                owner,
                size.name if size else "",
                float(flow[most]),
                wiring.conductors[most].at,
                wiring.may_carry(kind, owner) if size else None,
                float(heat[which].sum()),
                float(wanted[which].max()),
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
