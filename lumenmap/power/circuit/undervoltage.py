"""Undervoltage: what pixels draw and show when their voltage is too low for full light.

Strategy: each channel of a pixel draws its full current above a certain voltage and fades to dark
below it; blue and green fade before red. So current rises with voltage, and the network has one
steady state, the minimum of a convex function. Newton's method with an exact line search finds it
for all frames that need it together. Most frames don't: the linear solve is their steady state.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.parts.kind import PixelKind
from lumenmap.power.circuit.elimination import Elimination
from lumenmap.power.circuit.network import Network

F = NDArray[np.float64]

#: Converged when the currents of every node add up to less than this (A).
_TOLERANCE = 1e-9
_MAX_ITERATIONS = 80
#: Bisections of the line search: the step is known to a millionth.
_BISECTIONS = 20
#: Frames solved together: bounds the memory.
_BATCH = 128


class SteadyState(NamedTuple):
    """The steady state of T frames.

    Attributes
    ----------
    volts
        (T, nodes) node voltages.
    at_pixels
        (T, N) V across each pixel.
    channel_fraction
        (T, N, C) the current of each channel as a fraction of its full current, 0..1.
    amps
        (T, N) A that each pixel draws.
    """

    volts: F
    at_pixels: F
    channel_fraction: F
    amps: F


def channel_fraction_at(volts: F, kind: PixelKind) -> F:
    """Return each channel's fraction (…, C) of its full current at ``volts`` (…)."""
    off, full = np.array(kind.off_volts), np.array(kind.full_volts)
    fraction: F = np.clip((volts[..., None] - off) / (full - off), 0, 1)
    return fraction


class _Loads:
    """The current of pixels at given codes, and its derivative, as functions of voltage."""

    def __init__(self, codes: NDArray[np.uint8], kind: PixelKind) -> None:
        # Idle current is one more channel, which fades below the voltage of the first LED.
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

    def select(self, frames: NDArray[np.intp]) -> _Loads:
        some = object.__new__(_Loads)
        some.frames = len(frames)
        some._rows = [(amps[frames], off, full) for amps, off, full in self._rows]
        return some


def solve_steady_state(network: Network, codes: NDArray[np.uint8], kind: PixelKind) -> SteadyState:
    """Return the steady state of frames of codes (T, N, C), canonical order."""
    parts = [
        _solve(network, codes[i : i + _BATCH], kind) for i in range(0, max(1, len(codes)), _BATCH)
    ]
    return SteadyState(
        *(
            np.concatenate([getattr(p, name) for p in parts])
            for name in ("volts", "at_pixels", "channel_fraction", "amps")
        )
    )


def _solve(network: Network, codes: NDArray[np.uint8], kind: PixelKind) -> SteadyState:
    loads = _Loads(codes, kind)
    amps = loads.draw(np.full(codes.shape[:2], 1e3))
    volts = network.solve(amps)
    across = network.at_loads(volts)
    low = np.flatnonzero((across < max(kind.full_volts)).any(axis=1))
    if len(low):
        volts[low] = _newton(network, loads.select(low))
        across = network.at_loads(volts)
        amps = loads.draw(across)
    return SteadyState(volts, across, channel_fraction_at(across, kind), amps)


def _newton(network: Network, loads: _Loads) -> F:
    """Return the steady state, V (T, nodes)."""
    wires = [(int(a), int(b)) for a, b in network.ends]
    pairs = [(int(a), int(b)) for a, b in zip(network.plus, network.minus, strict=True)]
    plan = Elimination(network.nodes, wires + pairs, network.pinned)
    base = network.conductances(plan, wires)
    where = np.array([plan.index(a, b) for a, b in pairs])
    frames = loads.frames
    volts = network.solve(np.zeros((frames, len(pairs))))
    for _ in range(_MAX_ITERATIONS):
        across = network.at_loads(volts)
        residual = _residual(network, volts, loads.draw(across))
        residual[:, list(network.pinned)] = 0
        if np.abs(residual).max() < _TOLERANCE:
            break
        conductance = np.repeat(base[:, None], frames, axis=1)
        np.add.at(conductance, where, loads.slope(across).T)
        step = plan.factor(conductance).solve(np.ascontiguousarray(residual.T)).T
        volts += _step_length(network, loads, volts, step)[:, None] * step
    return volts


def _residual(network: Network, volts: F, amps: F) -> F:
    """Return the A (T, nodes) by which the currents into each node exceed those out of it."""
    flow = network.flow(volts, np.arange(len(network.ends))).T
    total = np.zeros((network.nodes, len(volts)))
    np.subtract.at(total, network.ends[:, 0], flow)
    np.add.at(total, network.ends[:, 1], flow)
    np.subtract.at(total, network.plus, amps.T)
    np.add.at(total, network.minus, amps.T)
    return total.T


def _step_length(network: Network, loads: _Loads, volts: F, step: F) -> F:
    """Return the fraction (T,) of ``step`` at which the convex function is lowest."""
    across = network.at_loads(volts)
    change = step[:, network.plus] - step[:, network.minus]
    a, b = network.ends.T
    rise = step[:, a] - step[:, b]
    drop = volts[:, a] - volts[:, b] + network.offset_volts
    slope = (rise * drop * network.siemens).sum(axis=1)
    curvature = (rise * rise * network.siemens).sum(axis=1)
    low, high = np.zeros(len(volts)), np.ones(len(volts))
    down = slope + curvature + (loads.draw(across + change) * change).sum(axis=1) <= 0
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        here = loads.draw(across + middle[:, None] * change)
        uphill = slope + curvature * middle + (here * change).sum(axis=1) > 0
        high, low = np.where(uphill, middle, high), np.where(uphill, low, middle)
    return np.where(down, 1.0, np.maximum(low, 1e-6))
