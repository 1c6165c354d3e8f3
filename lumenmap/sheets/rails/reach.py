"""`Reach`: the part of an edge that can be measured: from where it comes out of another mass."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from lumenmap.core.lengths import show_length
from lumenmap.house.choices import Unit
from lumenmap.house.model import House
from lumenmap.house.paths import hidden_parts
from lumenmap.pixels.edge_layout import EdgeLayout
from lumenmap.sheets.rails.rails import PlacedRail

#: What begins this near to an edge's end (m) begins there: as accurate as a tape.
AT_END = 0.02
#: A rail begins before its first pixel, and so this far (m) inside a mass at most: our choice.
INSIDE = 0.2


class Reach:
    """Where on an edge a tape can be held (m from its start, on the tape).

    Attributes
    ----------
    low, high
        Where it begins and ends to be in sight.
    heights
        Of these two places; of an edge that bends, of all its points (m above ground).
    """

    def __init__(self, layout: EdgeLayout, house: House) -> None:
        length = float(layout.length)
        parts = hidden_parts(layout.edge, house.masses)
        low, high = 0.0, length
        for start, stop, _ in parts:
            low = max(low, stop) if start <= low + AT_END else low
        for start, stop, _ in reversed(parts):
            high = min(high, start) if stop >= high - AT_END else high
        if low >= high:  # nothing of it is in sight
            parts, low, high = [], 0.0, length
        self.low, self.high = low, high
        points = layout.edge.points
        self.heights = (points if len(points) > 2 else layout.at(np.array([low, high])))[:, 2]
        # What begins at the edge's start, or ends at its end, isn't gone into or come out of.
        self._outs = [(stop, name) for _, stop, name in parts if stop < length - AT_END]
        self._ins = [(start, name) for start, _, name in parts if start > AT_END]

    def place(
        self, at: Fraction | float, rail: PlacedRail | None, unit: Unit, along: str = ""
    ) -> str:
        """Return how far a place is from what the edge comes out of, nearest before its rail.

        If that is nothing, it is how far from the edge's start, and then what ``along`` says. With
        ``along`` it is part of a sentence, which says where it comes out rather than "0 m".
        """
        begins = float(rail.start if rail else at)
        outs = [out for out in self._outs if out[0] <= begins + INSIDE]
        if not outs:
            return show_length(at, unit) + along
        zero, name = max(outs)
        if along and abs(float(at) - zero) < AT_END / 20:
            return f"where the edge comes out of {name}"
        return _apart(float(at) - zero, name, unit)

    def bare_end(self, stop: Fraction, unit: Unit) -> str:
        """Return how much of the edge is left behind ``stop``, up to what it goes into next."""
        ins = [into for into in self._ins if into[0] >= float(stop) - INSIDE]
        end, name = min(ins, default=(self.high, ""))
        return _apart(end - float(stop), name, unit)


def _apart(metres: float, name: str, unit: Unit) -> str:
    if not name:
        return show_length(metres, unit)
    return (
        f"{show_length(abs(metres), unit)} {'inside' if metres < -AT_END / 20 else 'from'} {name}"
    )
