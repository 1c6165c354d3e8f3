"""Budgets: how much current each supply, branch and wire may carry, and which pixels draw it.

Strategy: a current is a sum of codes with a weight for each pixel and channel. Weights are 0, 1 or
whole 4096ths, so the sums are whole numbers that floating point holds exactly: the same current, to
the last bit, in whatever order it is added up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.units import show_place
from lumenmap.house.choices import BudgetKind
from lumenmap.house.model import House
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.fuses import continuous_load
from lumenmap.parts.kinds import PixelKind
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.circuit.wiring import (
    POLARITIES,
    ConductorKind,
    PowerWiring,
    build_wiring,
)

F = NDArray[np.float64]
Codes = NDArray[np.uint8]

#: Shares are rounded up to whole fractions of this many, so they are never below the true current.
PARTS = 4096

#: Values summed at once: bounds the memory of `Budgets.amps_of`.
_CHUNK = 1 << 20


@dataclass(frozen=True, eq=False)
class Budgets:
    """K budgets over N pixels of C channels.

    Attributes
    ----------
    names, kinds
        (K,) the name of each; ``supply``, ``branch`` (a fuse) or ``wire``.
    amps
        (K,) A, the limit.
    idle
        (K,) A drawn with all codes 0.
    share
        (K, N) the share of each pixel's current in this budget: 0, 1 or whole 4096ths.
    channel_amps
        (C,) A of each channel of one pixel at code 255, canonical order.
    """

    names: tuple[str, ...]
    kinds: tuple[BudgetKind, ...]
    amps: F
    idle: F
    share: F
    channel_amps: F

    def __len__(self) -> int:
        return len(self.names)

    def __repr__(self) -> str:
        """Count budgets and pixels, in one line."""
        return f"<Budgets: {len(self)} over {self.share.shape[1]} pixels>"

    @cached_property
    def _groups(self) -> tuple[NDArray[np.floating], NDArray[np.intp], float]:
        """Distinct rows of ``share`` as whole numbers (N, G), each budget's column, and the scale.

        float32 where that holds every possible sum exactly, else float64.
        """
        rows, which = np.unique(self.share, axis=0, return_inverse=True)
        scale = 1.0 if np.isin(rows, (0.0, 1.0)).all() else float(PARTS)
        whole = np.rint(rows * scale)
        most = 255 * len(self.channel_amps) * whole.sum(axis=1).max(initial=0)
        kind = np.float32 if most < 1 << 24 else np.float64
        return np.ascontiguousarray(whole.T, kind), which.reshape(-1), scale

    @cached_property
    def _currents(self) -> list[tuple[float, list[int]]]:
        """Distinct channel currents (A), each with the channels that draw it."""
        return [
            (float(amps), np.flatnonzero(self.channel_amps == amps).tolist())
            for amps in np.unique(self.channel_amps)
        ]

    def amps_of_planes(self, planes: NDArray[Any]) -> F:
        """Return A (T, K) of whole codes in channel planes (C, T, N), of any number type."""
        groups, column, scale = self._groups
        drawn: Any = 0.0
        for amps, (first, *others) in self._currents:
            each = planes[first].astype(np.float32)
            for channel in others:
                each += planes[channel]
            sums = each.astype(groups.dtype, copy=False) @ groups
            # Whole numbers so far; what follows has the same order on every machine.
            drawn = drawn + sums.astype(np.float64) * (amps / 255 / scale)
        total: F = drawn.take(column, axis=1)
        total += self.idle
        return total

    def utilisation(self, amps: F) -> F:
        """Return the utilisation (T,) of the most used budget in each frame; 1 at its limit."""
        full: F = (amps * self._per_amp).max(axis=1)
        return full

    def gains(self, demand: F) -> F:
        """Return the gain (T, K), at most 1, at which ``demand`` (T, K) keeps each budget."""
        return 1 / np.maximum((demand - self.idle) * self._per_room, 1.0)

    @cached_property
    def _per_amp(self) -> F:
        return 1 / self.amps

    @cached_property
    def _per_room(self) -> F:
        # A budget that idle current uses up leaves room for nothing.
        return 1 / np.maximum(self.amps - self.idle, 1e-12)

    def amps_of(self, codes: Codes) -> F:
        """Return A (T, K) of codes (T, N, C) in canonical order."""
        step = max(1, _CHUNK // max(1, codes.shape[1] * codes.shape[2]))
        parts = [
            self.amps_of_planes(np.moveaxis(codes[i : i + step], 2, 0))
            for i in range(0, len(codes), step)
        ]
        return np.concatenate(parts) if parts else np.zeros((0, len(self)))


def budgets(house: House, pixelmap: PixelMap, wiring: PowerWiring | None = None) -> Budgets:
    """Return every budget of a house.

    A supply may deliver its rated current, a branch 80 % of its fuse, a wire its ampacity by the
    table that the house names: each feed, and each string and bus where most current flows, which
    is next to a connection. Hidden and dead pixels draw idle current like any other.

    Raises
    ------
    InputError
        As `build_wiring`; no ampacity for a wire; idle current alone above a budget.
    """
    wiring = wiring or build_wiring(house, pixelmap)
    try:
        found = _budgets(_rows(house, wiring), pixelmap.kind)
    except InputError as error:
        raise error.at(file=house.file, key="wiring.ampacity") from None
    for name, what, limit, idle in zip(
        found.names, found.kinds, found.amps, found.idle, strict=True
    ):
        if idle > limit:
            raise InputError(
                f'{what} "{name}" may carry {limit:.2f} A, but its pixels draw {idle:.2f} A '
                "with every light off",
                file=house.file,
            )
    return found


Row = tuple[str, BudgetKind, float, F]


def in_parts(shares: F) -> F:
    """Round shares up to whole 4096ths; within a millionth of 0 or 1 they are exactly that."""
    rounded: F = np.ceil(np.clip(shares, 0, 1) * PARTS - PARTS * 1e-6) / PARTS
    return rounded + 0.0  # no negative zero


def _budgets(found: list[Row], kind: PixelKind) -> Budgets:
    names, kinds, amps, rows = zip(*found, strict=True)
    share = np.array(rows)
    return Budgets(
        names,
        kinds,
        np.array(amps, float),
        share.sum(axis=1) * kind.idle_ma / 1000,
        share,
        np.array(kind.channel_ma, float) / 1000,
    )


def _rows(house: House, wiring: PowerWiring) -> list[Row]:
    """Return (name, kind, A, share) of each budget: supplies, then fuses and feeds, then wire."""
    shares = wiring.network.shares([c.resistor for c in wiring.conductors])
    row = {id(c): s for c, s in zip(wiring.conductors, shares, strict=True)}
    table = house.wire_defaults.ampacity
    both = {
        f.name: [row[id(wiring.of("feed", f.name, polarity)[0])] for polarity in POLARITIES]
        for f in wiring.feeds
    }
    found: list[Row] = []
    for supply in house.supplies:
        own = [both[f.name][0] for f in wiring.feeds if f.supply == supply.name]
        if own:
            found.append((supply.name, "supply", supply.amps, in_parts(np.sum(own, axis=0))))
    for feed in wiring.feeds:
        if feed.fuse is not None:
            found.append(
                (feed.name, "branch", continuous_load(feed.fuse), in_parts(both[feed.name][0]))
            )
        if feed.wire:
            limit = ampacity(wiring.wires["feed", feed.name], table)
            found += [(feed.name, "wire", limit, s) for s in _different(both[feed.name])]
    described = {f.line for f in wiring.feeds if f.wire}
    for line, connections in wiring.connections.items():
        if line not in described:
            continue  # where its wire comes from is unknown
        buses = [b.name for b in house.buses if b.line == line]
        owners: list[tuple[ConductorKind, str]] = [("string", line), *(("bus", b) for b in buses)]
        for kind, owner in owners:
            limit = ampacity(wiring.wires[kind, owner], table)
            found += [
                (f"{owner} {kind} at {show_place(at, house.unit)}", "wire", limit, share)
                for at, share in _busiest(wiring, kind, owner, connections, row)
            ]
    return found


def _busiest(
    wiring: PowerWiring,
    kind: ConductorKind,
    owner: str,
    connections: list[float],
    row: dict[int, F],
) -> list[tuple[float, F]]:
    """Return (m, share) on both sides of each connection: nowhere between is the current higher.

    Between two connections every pixel takes some of the current, so it is highest at one end.
    """
    found: list[tuple[float, F]] = []
    for polarity in POLARITIES:
        run = wiring.of(kind, owner, polarity)
        for at in connections:
            for near, sign in (
                (next((c for c in run if c.at > at), None), 1),
                (next((c for c in reversed(run) if c.at < at), None), -1),
            ):
                if near is None:
                    continue
                # Away from the connection; what flows towards it is highest at the next one.
                away = row[id(near)] * (sign if polarity == "positive" else -sign)
                share = in_parts(away)
                if share.any() and not any(np.array_equal(share, s) for _, s in found):
                    found.append((at, share))
    return found


def _different(rows: list[F]) -> list[F]:
    """Return the shares of both conductors, or of one if they are equal."""
    out, back = (in_parts(r) for r in rows)
    return [out] if np.array_equal(out, back) else [out, back]
