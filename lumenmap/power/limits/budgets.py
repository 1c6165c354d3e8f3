"""Budgets: how much current each supply, branch and wire may carry, and which pixels draw it.

Strategy: a current is a sum of codes with a weight for each pixel and channel. Weights are 0, 1 or
whole 4096ths, so the sums are whole numbers that floating point holds exactly: the same current, to
the last bit, in whatever order it is added up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.units import show_place
from lumenmap.house.choices import BudgetKind
from lumenmap.house.model import House
from lumenmap.parts.fuses import continuous_load
from lumenmap.parts.kinds import PixelKind
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.circuit.assembly import build_wiring
from lumenmap.power.circuit.wiring import POLARITIES, Conductor, Owner, PowerWiring
from lumenmap.power.limits.parts import PARTS, Parts, Row, in_parts

F = NDArray[np.float64]
Codes = NDArray[np.uint8]

#: Values summed at once: bounds the memory of `Budgets.amps_of`.
_CHUNK = 1 << 20
#: Conductors whose shares are worked out together: bounds the memory of one solve.
_AT_ONCE = 16


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
    parts
        (K, N) how much of each pixel's current is in each budget, in 4096ths.
    channel_amps
        (C,) A of each channel of one pixel at code 255, canonical order.
    """

    names: tuple[str, ...]
    kinds: tuple[BudgetKind, ...]
    amps: F
    idle: F
    parts: Parts
    channel_amps: F

    def __len__(self) -> int:
        return len(self.names)

    def __repr__(self) -> str:
        """Count budgets and pixels, in one line."""
        return f"<Budgets: {len(self)} over {self.pixels} pixels>"

    @property
    def pixels(self) -> int:
        """N, the number of pixels."""
        return self.parts.pixels

    @property
    def share(self) -> F:
        """(K, N) the share of each pixel's current in each budget, 0..1, all of it in memory."""
        return self.parts.shares()

    @cached_property
    def _groups(self) -> tuple[Any, NDArray[np.intp], float]:
        """Distinct rows of ``parts`` as columns (N, G), each budget's column, and the scale.

        float32 where that holds every possible sum exactly, else float64.
        """
        distinct, column = self.parts.distinct()
        all_or_nothing = all((row.whole == PARTS).all() for row in distinct.rows)
        scale = 1.0 if all_or_nothing else float(PARTS)
        most = 255 * len(self.channel_amps) * distinct.totals().max(initial=0) * scale
        kind = np.float32 if most < 1 << 24 else np.float64
        return distinct.table(PARTS / scale, kind), column, scale

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
        found = _budgets(_rows(house, wiring), pixelmap.kind, len(pixelmap))
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


Figures = tuple[str, BudgetKind, float, Row]


def _budgets(found: list[Figures], kind: PixelKind, pixels: int) -> Budgets:
    names, kinds, amps, rows = zip(*found, strict=True)
    parts = Parts(tuple(rows), pixels)
    return Budgets(
        names,
        kinds,
        np.array(amps, float),
        idle_amps(parts, kind),
        parts,
        np.array(kind.channel_ma, float) / 1000,
    )


def idle_amps(parts: Parts, kind: PixelKind) -> F:
    """Return A (K,) that each budget's pixels draw with all codes 0."""
    return parts.totals() * kind.idle_ma / 1000


def _rows(house: House, wiring: PowerWiring) -> list[Figures]:
    """Return (name, kind, A, row) of each budget: supplies, fuses and leads, wire, connectors."""
    found: list[Figures] = []
    for supply in house.supplies:
        own = _shares(wiring, wiring.sources(supply.name)).values()
        if own:
            total = in_parts(np.sum(list(own), axis=0))
            found.append((supply.name, "supply", supply.amps, total))
    found += [row for feed in wiring.feeds for row in _lead(wiring, ("feed", feed.name))]
    for trunk in wiring.trunks:
        found += _lead(wiring, ("trunk", trunk.name))
        found += _along_trunk(house, wiring, trunk.name)
        for tap in (t for t in wiring.taps if t.trunk == trunk.name):
            found += _lead(wiring, ("tap", tap.name))
    for name in wiring.joints:
        found += _along(house, wiring, name)
    return found


def _lead(wiring: PowerWiring, owner: Owner) -> list[Figures]:
    """Return the budgets of a feed, a tap or a trunk's lead-in: of its fuse and its wire."""
    name = owner[1]
    stretches = [c for p in POLARITIES for c in wiring.of(*owner, p) if not c.number]
    fuses = {f.conductor: f.amps for f in wiring.fuses if (f.kind, f.owner) == owner}
    shares = _shares(wiring, stretches)
    found: list[Figures] = []
    for conductor, amps in fuses.items():
        if amps is not None:
            rows = _both_ways([shares[id(conductor)]])
            found += [(name, "branch", continuous_load(amps), row) for row in rows]
    if owner in wiring.wires:
        limit = wiring.may_carry(*owner)
        found += [(name, "wire", limit, row) for row in _both_ways(list(shares.values()))]
    return found


def _along_trunk(house: House, wiring: PowerWiring, trunk: str) -> list[Figures]:
    """Return the budgets of a trunk between its taps."""
    found: list[Figures] = []
    own = [c for p in POLARITIES for c in wiring.of("trunk", trunk, p) if c.number]
    for c, share in zip(own, _shares(wiring, own).values(), strict=True):
        name = f"{trunk} trunk at {show_place(c.at, house.unit)}"
        limit = wiring.may_carry("trunk", trunk)
        found += [(name, "wire", limit, row) for row in _both_ways([share])]
    return found


def _along(house: House, wiring: PowerWiring, line: str) -> list[Figures]:
    """Return the budgets of what lies along a line: its string, buses, ties and connectors."""
    described = {f.line for f in wiring.feeds if f.wire} | {t.line for t in wiring.trunks}
    if line not in described:
        return []  # where its wire comes from is unknown
    buses = [b for b in house.buses if b.line == line]
    places = wiring.joints[line]
    found = _wire(house, wiring, ("string", line), places)
    for bus in buses:
        # A bus has no pixels: every stretch is between two ties, and both ways are possible.
        own = [c for p in POLARITIES for c in wiring.of("bus", bus.name, p)]
        ties = [(n, c.at) for n, c in enumerate(wiring.of("tie", bus.name, "positive"))]
        found += _wire(house, wiring, ("bus", bus.name), ties) if own else []
        found += _ties(house, wiring, bus.name)
    if house.string.connector_amps is not None:
        found += _connectors(wiring, line, house.string.connector_amps)
    return found


def _wire(
    house: House, wiring: PowerWiring, owner: Owner, joints: list[tuple[int, float]]
) -> list[Figures]:
    kind, name = owner
    limit = wiring.may_carry(*owner)
    runs = [wiring.of(kind, name, polarity) for polarity in POLARITIES]
    return [
        (f"{name} {kind} at {show_place(at, house.unit)}", "wire", limit, row)
        for at, row in _busiest(wiring, runs, joints)
    ]


def _ties(house: House, wiring: PowerWiring, bus: str) -> list[Figures]:
    """Return the budgets of a bus's ties, if they have fuses."""
    found: list[Figures] = []
    for fuse in (f for f in wiring.fuses if (f.kind, f.owner) == ("tie", bus)):
        if fuse.amps is not None:
            share = _shares(wiring, [fuse.conductor])[id(fuse.conductor)]
            name = f"{bus} tie at {show_place(fuse.conductor.at, house.unit)}"
            limit = continuous_load(fuse.amps)
            found += [(name, "branch", limit, row) for row in _both_ways([share])]
    return found


def _connectors(wiring: PowerWiring, line: str, amps: float) -> list[Figures]:
    """Return the budgets of a line's connectors, and of what is plugged in there."""
    taps = {
        t.name for t in wiring.taps for k in wiring.trunks if (k.name, k.line) == (t.trunk, line)
    }
    own = {("string", line), *(("feed", f.name) for f in wiring.feeds if f.line == line)}
    own |= {("tap", name) for name in taps}
    at: dict[int, list[Conductor]] = {}
    for c in wiring.conductors:
        if c.connector is not None and (c.kind, c.owner) in own:
            at.setdefault(c.connector, []).append(c)
    found: list[Figures] = []
    for number, conductors in sorted(at.items()):
        rows = _both_ways(list(_shares(wiring, conductors).values()))
        found += [(f"{line} connector {number}", "wire", amps, row) for row in rows]
    return found


def _shares(wiring: PowerWiring, conductors: Sequence[Conductor]) -> dict[int, F]:
    """Return the share (N,) of each pixel's current in each conductor, by the conductor's id."""
    found: dict[int, F] = {}
    for i in range(0, len(conductors), _AT_ONCE):
        some = conductors[i : i + _AT_ONCE]
        shares = wiring.network.shares([c.resistor for c in some])
        found |= {id(c): share for c, share in zip(some, shares, strict=True)}
    return found


def _busiest(
    wiring: PowerWiring, runs: list[list[Conductor]], joints: list[tuple[int, float]]
) -> list[tuple[float, Row]]:
    """Return (m, row) on both sides of each joint: nowhere between is the current higher.

    Between two joints every pixel takes some of the current, so it is highest at one end.

    Parameters
    ----------
    runs
        The stretches of the positive conductor, then of the negative, in order along the line.
    joints
        The number of each joint's node, and m along the line.
    """
    near: list[tuple[float, Conductor, int]] = []
    for run, away in zip(runs, (1, -1), strict=True):
        numbered = {c.number: c for c in run}
        for node, at in joints:
            # Away from the joint; what flows towards it is highest at the next one.
            near += [(at, numbered[node], away)] if node in numbered else []
            near += [(at, numbered[node - 1], -away)] if node - 1 in numbered else []
    shares = _shares(wiring, [c for _, c, _ in near])
    found: dict[bytes, tuple[float, Row]] = {}
    for at, conductor, sign in near:
        row = in_parts(shares[id(conductor)] * sign)
        if len(row.pixels):
            found.setdefault(row.key, (at, row))
    return list(found.values())


def _both_ways(shares: list[F]) -> list[Row]:
    """Return the rows that differ, of currents in either direction; none of those that are zero."""
    rows = [in_parts(sign * share) for share in shares for sign in (1, -1)]
    return list({row.key: row for row in rows if len(row.pixels)}.values())
