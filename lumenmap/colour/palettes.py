"""Palettes that come with the package."""

from __future__ import annotations

from lumenmap.colour.palette import Palette


def builtin() -> dict[str, Palette]:
    """Return the palettes that come with the package, by name."""
    rows = (
        Palette("candlelight", ["#ffb347", "#ff8c1a", "#ffd9a0"]),
        Palette("frost", ["#dff3ff", "oklch(0.62 0.14 240)", "#06122e"]),
        Palette("spectrum", ["red", "yellow", "lime", "cyan", "blue", "magenta"]),
    )
    return {p.name: p for p in rows}
