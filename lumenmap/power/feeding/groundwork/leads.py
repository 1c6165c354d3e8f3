"""`Leads`: how long a wire from a supply to a place would be, from the feeds there are."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.lengths import at_least, show_length
from lumenmap.core.units import LENGTH
from lumenmap.house.choices import Unit
from lumenmap.site import Site

#: A lead-in where the house file has no feed to estimate from (m), round in either unit: common
#: practice, no source.
LEAD_IN_FEET, LEAD_IN_METRES = 10 * float(LENGTH["ft"]), 3.0


def lead_in(unit: Unit) -> float:
    """Return the lead-in (m) that is assumed for a house measured in ``unit``."""
    return LEAD_IN_FEET if unit in ("ft", "in") else LEAD_IN_METRES


def show_lead_in(unit: Unit) -> str:
    """Return the same for people."""
    return show_length(lead_in(unit), unit)


class Leads:
    """Lengths of lead-ins, estimated from the house's feeds and trunks."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self._known = [
            (f.supply, f.line, site.places[f.line].at(f.at, f'feed "{f.name}", at'), f.length)
            for f in site.house.feeds
            if f.wire
        ] + [
            (t.supply, t.line, site.places[t.line].at(t.start, f'trunk "{t.name}"'), t.length)
            for t in site.house.trunks
        ]

    def metres(self, supply: str, line: str, along: float) -> float:
        """Return m, one way, from a supply to a place on a line.

        A wire that is there keeps its length; others are estimates, up to the inch or centimetre.
        """
        unit = self.site.house.unit
        found = [
            (length + away, away)
            for name, own, at, length in self._known
            if name == supply
            for away in [self._between(own, at, line, along)]
        ]
        metres, away = min(found, default=(lead_in(unit) + along, along))
        return float(at_least(metres, unit)) if away else metres

    def _between(self, one: str, at: float, two: str, along: float) -> float:
        """Return m from a place on a line to one on another; wire follows edges."""
        if one == two:
            return abs(along - at)
        # Wire follows edges, so the distances across, back and up add.
        return float(np.abs(self._xyz(one, at) - self._xyz(two, along)).sum())

    def _xyz(self, line: str, along: float) -> NDArray[np.float64]:
        """Return where the pixel nearest to a place is, (3,) m."""
        pixels = self.site.pixels
        span = next(s for s in pixels.lines if s.name == line)
        near = int(np.abs(pixels.along_line[span.slice] - along).argmin())
        return np.asarray(pixels.xyz[span.first + near])
