"""Budgets: how many amps each supply, branch and wire may give, and which pixels draw on it.

Strategy: amps are a sum of codes with a weight for each pixel and channel. Weights are 0, 1 or
whole 4096ths, so that the sums are whole numbers that floating point holds exactly: the same amps,
to the last bit, whichever way they are added up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import length
from lumenmap.house.model import Feed, House
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.wires import wire
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.power.shares import PARTS, feed_shares, in_parts

F = NDArray[np.float64]
Codes = NDArray[np.uint8]

#: A fuse carries at most this part of its rating for hours: the 125 % rule turned round
#: (NEC 210.20(A) [P]; its use on the low-voltage side is common practice, no source).
FUSE_LOAD = 0.8

#: The string's own conductors where the house file does not say: common practice, no source.
STRING_WIRE = "18 AWG"

#: Values summed at once: bounds the memory that `Budgets.draw` takes.
_CHUNK = 1 << 20


@dataclass(frozen=True, eq=False)
class Budgets:
    """K budgets over N pixels of C channels.

    Attributes
    ----------
    names, kinds
        (K,) what each is called; ``supply``, ``branch`` (a fuse) or ``wire``.
    amps
        (K,) A, the limit.
    idle
        (K,) A drawn with all codes 0.
    share
        (K, N) the part of each pixel's current that this budget carries: 0, 1 or whole 4096ths.
    channel_amps
        (C,) A of each channel of one pixel at code 255, canonical order.
    """

    names: tuple[str, ...]
    kinds: tuple[str, ...]
    amps: F
    idle: F
    share: F
    channel_amps: F

    def __len__(self) -> int:
        return len(self.names)

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

    def weigh(self, planes: NDArray[Any]) -> F:
        """Return A (T, K) for whole codes in channel planes (C, T, N), of any number type."""
        groups, column, scale = self._groups
        drawn: Any = 0.0
        for amps, (first, *others) in self._currents:
            each = planes[first].astype(np.float32)
            for channel in others:
                each += planes[channel]
            sums = each.astype(groups.dtype, copy=False) @ groups
            # Whole numbers so far; what follows is done in one order on any machine.
            drawn = drawn + sums.astype(np.float64) * (amps / (255 * scale))
        total: F = drawn.take(column, axis=1)
        total += self.idle
        return total

    def fullness(self, amps: F) -> F:
        """Return how full the fullest budget is in each frame, (T,); 1 at its limit."""
        full: F = (amps * self._per_amp).max(axis=1)
        return full

    def gain_for(self, wanted: F) -> F:
        """Return the gain (T,) of light that wants ``wanted`` at full gain and is to fit."""
        least: F = 1 / ((wanted - self.idle) * self._per_room).max(axis=1)
        return least

    @cached_property
    def _per_amp(self) -> F:
        return 1 / self.amps

    @cached_property
    def _per_room(self) -> F:
        # A budget that idle fills to the brim leaves room for nothing: an endless price.
        return 1 / np.maximum(self.amps - self.idle, 1e-12)

    def draw(self, codes: Codes) -> F:
        """Return A drawn from each budget, (T, K), for codes (T, N, C) in canonical order."""
        step = max(1, _CHUNK // max(1, codes.shape[1] * codes.shape[2]))
        parts = [
            self.weigh(np.moveaxis(codes[i : i + step], 2, 0)) for i in range(0, len(codes), step)
        ]
        return np.concatenate(parts) if parts else np.zeros((0, len(self)))


def budgets(house: House, pixelmap: PixelMap) -> Budgets:
    """Work out every budget of a house.

    A supply may give its amps; a branch 80 % of its fuse; a wire its ampacity by the conservative
    planner table. Spare pixels draw idle current like any other.

    Raises
    ------
    InputError
        No supply, a line that nothing feeds, or idle current alone above a budget.
    """
    if not house.supplies:
        raise InputError(
            "has no [[supply]], so nothing tells how many amps the show may draw", file=house.file
        )
    found = _supply_rows(house, pixelmap, shares := _all_shares(house, pixelmap))
    for feed in house.feeds:
        row = in_parts(shares[feed.name])
        if feed.fuse is not None:
            found.append((feed.name, "branch", FUSE_LOAD * feed.fuse, row))
        found.append((feed.name, "wire", ampacity(wire(feed.wire)), row))
    kind = pixelmap.kind
    names, kinds, amps, rows = zip(*found, strict=True)
    share = np.array(rows)
    made = Budgets(
        names, kinds, np.array(amps, float), share.sum(axis=1) * kind.idle_ma / 1000,
        share, np.array(kind.channel_ma, float) / 1000,
    )  # fmt: skip
    for name, what, limit, idle in zip(made.names, made.kinds, made.amps, made.idle, strict=True):
        if idle > limit:
            raise InputError(
                f'{what} "{name}" may give {limit:.2f} A, but its pixels draw {idle:.2f} A '
                "with every light off",
                file=house.file,
            )
    return made


def _supply_rows(
    house: House, pixelmap: PixelMap, shares: dict[str, F]
) -> list[tuple[str, str, float, F]]:
    """Return (name, kind, amps, share) of every supply that feeds something."""
    unfed = _unfed(house, pixelmap)
    found = []
    for supply in house.supplies:
        total = unfed.copy() if len(house.supplies) == 1 else np.zeros(len(pixelmap))
        for feed in house.feeds:
            if feed.supply == supply.name:
                total += shares[feed.name]
        if total.any():
            found.append((supply.name, "supply", supply.amps, in_parts(total)))
    return found


def _unfed(house: House, pixelmap: PixelMap) -> F:
    """Mark (N,) the pixels of lines without a feed; one supply is taken to feed them."""
    fed = {feed.line for feed in house.feeds}
    mark = np.zeros(len(pixelmap))
    for span in pixelmap.lines:
        if span.name not in fed:
            if len(house.supplies) > 1:
                raise InputError(
                    "nothing feeds it; add a [[feed]] that says which supply does",
                    file=house.file,
                    key=f'line "{span.name}"',
                )
            mark[span.slice] = 1
    return mark


def _all_shares(house: House, pixelmap: PixelMap) -> dict[str, F]:
    string = 2 * wire(STRING_WIRE).ohm_per_km / 1000
    spans = {span.name: span for span in pixelmap.lines}
    found = {}
    for feed in house.feeds:
        if feed.line not in spans:
            raise InputError(
                unknown("line", feed.line, spans), file=house.file, key=f'feed "{feed.name}"'
            )
    for span in pixelmap.lines:
        feeds = [f for f in house.feeds if f.line == span.name]
        if not feeds:
            continue
        places = np.array([feed_place(f, span, house.unit) for f in feeds])
        leads = np.array([2 * wire(f.wire).ohms(f.length) for f in feeds])
        own = (
            np.ones((1, span.count)) if len(feeds) == 1
            else feed_shares(pixelmap.along_line[span.slice], places, leads, string)
        )  # fmt: skip
        for feed, row in zip(feeds, own, strict=True):
            whole = np.zeros(len(pixelmap))
            whole[span.slice] = row
            found[feed.name] = whole
    return found


def feed_place(feed: Feed, span: LineSpan, unit: str) -> float:
    """Return where a feed joins its line, m of wire from the start: start, middle, end or a length.

    Raises
    ------
    InputError
        It is none of these, or past the line's end.
    """
    named = {"start": 0.0, "middle": span.length / 2, "end": span.length}
    if feed.at in named:
        return named[feed.at]
    key = f'feed "{feed.name}", at'
    try:
        place = float(length(feed.at, unit, what="place"))
    except InputError as error:
        raise InputError(
            f'is "{feed.at}"; wanted start, middle, end or a length', key=key
        ) from error
    if not 0 <= place <= span.length + 1e-9:
        raise InputError(f"is {place:.2f} m along a line of {span.length:.2f} m", key=key)
    return place
