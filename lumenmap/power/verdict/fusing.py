"""Fuses against the wire behind them: none may be larger than the thinnest wire may carry."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from lumenmap.parts.fuses import largest_fuse
from lumenmap.power.circuit.wiring import FusePoint, PowerWiring
from lumenmap.power.verdict.finding import Finding, Subject

#: Places that need a fuse: the supply end of each wire. A tap or a tie may do without, where the
#: fuses before it are small enough for it.
_MUST = ("feed", "trunk")


class Thinnest(NamedTuple):
    """The wire of least ampacity behind a fuse: what it is, its size, and what it may carry (A)."""

    what: str
    size: str
    amps: float


def thinnest_behind(wiring: PowerWiring, point: FusePoint) -> Thinnest:
    """Return the wire of least ampacity behind a fuse, or behind the place for one.

    Raises
    ------
    InputError
        The ampacity table has no row for a wire.
    """
    kind, owner = wiring.thinnest(wiring.behind(point))
    own = (kind, owner) == (point.kind, point.owner)
    what = (
        "the string's own wire"
        if kind == "string"
        else f"the {kind}'s wire"
        if own
        else f'{kind} "{owner}"'
    )
    return Thinnest(what, wiring.wires[kind, owner].name, wiring.may_carry(kind, owner))


def feed_point(wiring: PowerWiring, feed: str) -> FusePoint:
    """Return the place for a feed's fuse."""
    return next(f for f in wiring.fuses if (f.kind, f.owner) == ("feed", feed))


def advised_fuse(may: float) -> str:
    """Return what fuse protects a wire that may carry so much (A), as the end of a sentence."""
    best = largest_fuse(may)
    if best is None:
        return "use thicker wire, since no blade fuse is small enough for this one"
    return f"fit a fuse of {best:g} A at most, or use thicker wire"


def fuse_dangers(wiring: PowerWiring) -> Iterator[Finding]:
    """Yield wires without a fuse at their supply, and fuses that don't protect the wire behind.

    Raises
    ------
    InputError
        The ampacity table has no row for a wire.
    """
    for point in wiring.fuses:
        if point.amps is None and (
            point.kind not in _MUST or (point.kind, point.owner) not in wiring.wires
        ):
            continue
        thin, where = thinnest_behind(wiring, point), (Subject(point.owner, _KIND[point.kind]),)
        advice = advised_fuse(thin.amps)
        if point.amps is None:
            yield Finding(
                "no-fuse",
                "danger",
                where,
                f"no fuse, and {thin.what} behind it, {thin.size}, may carry {thin.amps:g} A.",
                f"At its supply end, {advice}; then write fuse = … in the [[{point.kind}]].",
            )
        elif point.amps > thin.amps * (1 + 1e-9):
            yield Finding(
                "fuse-too-large",
                "danger",
                where,
                f"a fuse of {point.amps:g} A doesn't protect {thin.what}, {thin.size}, "
                f"which may carry {thin.amps:g} A.",
                f"{advice[0].upper()}{advice[1:]}.",
            )


_KIND = {"feed": "feed", "trunk": "trunk", "tap": "tap", "tie": "tie of bus"}
