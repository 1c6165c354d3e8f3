"""Fuses against the wire behind them: none may be larger than the thinnest wire may carry."""

from __future__ import annotations

from collections.abc import Iterator

from lumenmap.house.model import House
from lumenmap.house.supplies import Feed
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.fuses import largest_fuse
from lumenmap.parts.wires import Wire, wire
from lumenmap.power.verdict.finding import Finding


def thinnest_behind(house: House, feed: Feed) -> tuple[Wire, str]:
    """Return the wire of least ampacity behind a feed's fuse, and what it is."""
    behind = [(wire(house.wire_defaults.string), "the string's own wire")]
    if feed.wire:
        behind.append((wire(feed.wire), "the feed's wire"))
    behind += [(wire(b.wire), f'bus "{b.name}"') for b in house.buses if b.line == feed.line]
    return min(behind, key=lambda pair: ampacity(pair[0], house.wire_defaults.ampacity))


def advised_fuse(may: float) -> str:
    """Return what fuse protects a wire that may carry so much (A), as the end of a sentence."""
    best = largest_fuse(may)
    if best is None:
        return "use thicker wire, since no blade fuse is small enough for this one"
    return f"fit a fuse of {best:g} A at most, or use thicker wire"


def fuse_dangers(house: House) -> Iterator[Finding]:
    """Yield feeds without a fuse, and fuses that don't protect the wire behind them.

    Raises
    ------
    InputError
        The ampacity table has no row for a wire.
    """
    for feed in house.feeds:
        thin, what = thinnest_behind(house, feed)
        may = ampacity(thin, house.wire_defaults.ampacity)
        advice = advised_fuse(may)
        if feed.fuse is None:
            yield Finding(
                "no-fuse",
                "danger",
                feed.name,
                f'Feed "{feed.name}" has no fuse, and {what} behind it, {thin.name}, may carry '
                f"{may:g} A.",
                f"At its supply end, {advice}; then write fuse = … in the [[feed]].",
            )
        elif feed.fuse > may:
            yield Finding(
                "fuse-too-large",
                "danger",
                feed.name,
                f'Feed "{feed.name}": a fuse of {feed.fuse:g} A doesn\'t protect {what}, '
                f"{thin.name}, which may carry {may:g} A.",
                f"{advice[0].upper()}{advice[1:]}.",
            )
