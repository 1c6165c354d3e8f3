"""Budgets: how much current each supply, branch and wire may carry, and which pixels draw it.

Strategy: a current is a sum of codes with a weight for each pixel and channel. Weights are 0, 1 or
whole 4096ths, so the sums are whole numbers that floating point holds exactly: the same current, to
the last bit, in whatever order it is added up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.white import ALIKE
from lumenmap.core.errors import InputError
from lumenmap.house.choices import BudgetKind
from lumenmap.house.model import House
from lumenmap.parts.kind import PixelKind
from lumenmap.parts.light import white_of
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.circuit.assembly import build_wiring
from lumenmap.power.circuit.wiring import PowerWiring
from lumenmap.power.limits.figures import Figures, budget_rows
from lumenmap.power.limits.parts import PARTS, Parts, Row, in_parts

F = NDArray[np.float64]
Codes = NDArray[np.uint8]

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
    parts
        (K, N) how much of each pixel's current is in each budget, in 4096ths.
    channel_amps
        (C,) A of each channel of one pixel at code 255, canonical order.
    white
        (3,) the white die's light, as `lumenmap.codes.white` takes it.
    """

    names: tuple[str, ...]
    kinds: tuple[BudgetKind, ...]
    amps: F
    idle: F
    parts: Parts
    channel_amps: F
    white: F = field(default_factory=lambda: np.array(ALIKE))

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
            (amps, np.flatnonzero(self.channel_amps == amps).tolist())
            for amps in sorted(set(self.channel_amps.tolist()))
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

    def above_idle(self, rows: Sequence[Row]) -> Budgets:
        """Return a budget for each row that counts what its pixels draw above idle.

        They have no names, and their limits mean nothing.
        """
        supply: BudgetKind = "supply"
        return replace(
            self,
            names=("",) * len(rows),
            kinds=(supply,) * len(rows),
            amps=np.ones(len(rows)),
            idle=np.zeros(len(rows)),
            parts=Parts(tuple(rows), self.pixels),
        )

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
        found = _budgets(budget_rows(house, wiring), pixelmap.kind, len(pixelmap))
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


def unlimited(pixelmap: PixelMap) -> Budgets:
    """Return one budget without a limit, for pictures of a house that has no supply yet."""
    row = in_parts(np.arange(len(pixelmap)), np.ones(len(pixelmap)))
    return _budgets([("no supply", "wire", np.inf, row)], pixelmap.kind, len(pixelmap))


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
        white_of(kind),
    )


def idle_amps(parts: Parts, kind: PixelKind) -> F:
    """Return A (K,) that each budget's pixels draw with all codes 0."""
    return parts.totals() * kind.idle_ma / 1000
