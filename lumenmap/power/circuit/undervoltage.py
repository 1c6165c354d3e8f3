"""Pixels short of volts: what they draw and show when the line can't hold them up.

Strategy: each channel of a pixel draws its full current above some volts and fades to dark below;
blue and green fade before red. So current rises with voltage and the network has one steady state,
the lowest point of a convex function. Newton's method with an exact line search goes down to it,
for all frames that need it at once; most frames don't, and are settled by the linear solve.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.parts.kinds import PixelKind
from lumenmap.power.circuit.elimination import Elimination
from lumenmap.power.circuit.network import Network

F = NDArray[np.float64]

#: The steady state is found when every node's currents add up to this (A).
_ENOUGH = 1e-9
_ROUNDS = 80
#: Halvings of the line search: the step is known to a millionth.
_HALVINGS = 20
#: Frames settled at once: bounds the memory taken.
_BATCH = 128


@dataclass(frozen=True, slots=True, eq=False)
class SteadyState:
    """The steady state of T frames.

    Attributes
    ----------
    volts
        (T, nodes) node voltages.
    at_pixels
        (T, N) V across each pixel.
    lit
        (T, N, C) the part of its full current that each channel has, 0..1.
    amps
        (T, N) A that each pixel draws.
    """

    volts: F
    at_pixels: F
    lit: F
    amps: F


def channel_fraction_at(volts: F, kind: PixelKind) -> F:
    """Return the part (…, C) of its full current that each channel has at ``volts`` (…)."""
    off, full = np.array(kind.off_volts), np.array(kind.full_volts)
    part: F = np.clip((volts[..., None] - off) / (full - off), 0, 1)
    return part


class _Loads:
    """Current and its slope against voltage, for pixels at given codes."""

    def __init__(self, codes: NDArray[np.uint8], kind: PixelKind) -> None:
        # Idle current is one more channel, that fades below where the first LED lights.
        full = [*kind.full_volts, min(kind.off_volts)]
        off = [*kind.off_volts, 0.0]
        duty = np.moveaxis(codes, 2, 0) / 255.0
        amps = [d * ma / 1000 for d, ma in zip(duty, kind.channel_ma, strict=True)]
        amps.append(np.full(codes.shape[:2], kind.idle_ma / 1000))
        self.frames = len(codes)
        self._rows = list(zip(amps, off, full, strict=True))

    def draw(self, volts: F) -> F:
        total = np.zeros_like(volts)
        for amps, off, full in self._rows:
            total += amps * np.clip((volts - off) / (full - off), 0, 1)
        return total

    def slope(self, volts: F) -> F:
        total = np.zeros_like(volts)
        for amps, off, full in self._rows:
            total += amps * ((volts > off) & (volts < full)) / (full - off)
        return total

    def only(self, frames: NDArray[np.intp]) -> _Loads:
        some = object.__new__(_Loads)
        some.frames = len(frames)
        some._rows = [(amps[frames], off, full) for amps, off, full in self._rows]
        return some


def solve_steady_state(network: Network, codes: NDArray[np.uint8], kind: PixelKind) -> SteadyState:
    """Return the steady state of frames of codes (T, N, C), canonical order."""
    parts = [
        _settle(network, codes[i : i + _BATCH], kind) for i in range(0, max(1, len(codes)), _BATCH)
    ]
    return SteadyState(
        *(
            np.concatenate([getattr(p, name) for p in parts])
            for name in ("volts", "at_pixels", "lit", "amps")
        )
    )


def _settle(network: Network, codes: NDArray[np.uint8], kind: PixelKind) -> SteadyState:
    loads = _Loads(codes, kind)
    amps = loads.draw(np.full(codes.shape[:2], 1e3))
    volts = network.solve(amps)
    across = network.at_loads(volts)
    short = np.flatnonzero((across < max(kind.full_volts)).any(axis=1))
    if len(short):
        volts[short] = _newton(network, loads.only(short))
        across = network.at_loads(volts)
        amps = loads.draw(across)
    return SteadyState(volts, across, channel_fraction_at(across, kind), amps)


def _newton(network: Network, loads: _Loads) -> F:
    """Go down to the steady state; (T, nodes) volts."""
    wires = [(int(a), int(b)) for a, b in network.ends]
    pairs = [(int(a), int(b)) for a, b in zip(network.plus, network.minus, strict=True)]
    plan = Elimination(network.nodes, wires + pairs, network.pinned)
    base = network.conductances(plan, wires)
    where = np.array([plan.index(a, b) for a, b in pairs])
    frames = loads.frames
    volts = network.solve(np.zeros((frames, len(pairs))))
    for _ in range(_ROUNDS):
        across = network.at_loads(volts)
        excess = _excess(network, volts, loads.draw(across))
        excess[:, list(network.pinned)] = 0
        if np.abs(excess).max() < _ENOUGH:
            break
        conductance = np.repeat(base[:, None], frames, axis=1)
        np.add.at(conductance, where, loads.slope(across).T)
        step = plan.factor(conductance).solve(np.ascontiguousarray(excess.T)).T
        volts += _reach(network, loads, volts, step)[:, None] * step
    return volts


def _excess(network: Network, volts: F, amps: F) -> F:
    """Return A (T, nodes) that flow into each node and do not flow out."""
    flow = network.flow(volts, np.arange(len(network.ends))).T
    total = np.zeros((network.nodes, len(volts)))
    np.subtract.at(total, network.ends[:, 0], flow)
    np.add.at(total, network.ends[:, 1], flow)
    np.subtract.at(total, network.plus, amps.T)
    np.add.at(total, network.minus, amps.T)
    return total.T


def _reach(network: Network, loads: _Loads, volts: F, step: F) -> F:
    """Return how far along ``step`` (T,) the convex function is lowest, at most all the way."""
    across = network.at_loads(volts)
    ahead = step[:, network.plus] - step[:, network.minus]
    a, b = network.ends.T
    rise = step[:, a] - step[:, b]
    drop = volts[:, a] - volts[:, b] + network.offset_volts
    straight = (rise * drop * network.siemens).sum(axis=1)
    bend = (rise * rise * network.siemens).sum(axis=1)
    low, high = np.zeros(len(volts)), np.ones(len(volts))
    down = straight + bend + (loads.draw(across + ahead) * ahead).sum(axis=1) <= 0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        here = loads.draw(across + middle[:, None] * ahead)
        uphill = straight + bend * middle + (here * ahead).sum(axis=1) > 0
        high, low = np.where(uphill, middle, high), np.where(uphill, low, middle)
    return np.where(down, 1.0, np.maximum(low, 1e-6))
