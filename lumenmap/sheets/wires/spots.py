"""`tell`: a place on a line, by connector, pixel, edge and distance."""

from __future__ import annotations

import numpy as np

from lumenmap.core.lengths import show_about
from lumenmap.power.circuit.places import SAME_POSITION, Place
from lumenmap.site import Site


def tell(site: Site, line: str, place: Place) -> str:
    """Say where a place is, as somebody on a ladder looks for it.

    ``connector 2, between pixels 50 and 51 on main/eave-front, 16 ft 8 in along the line``
    """
    own, unit = site.places[line], site.house.unit
    last = len(own.connectors)
    words = [pixels_at(site, line, place.wire)]
    if edge := edge_at(site, line, place.along):
        words[0] += f" on {edge}"
    if place.connector == 1:
        return f"start of the line, {words[0]}"
    if place.connector == last:
        return f"end of the line, {words[0]}, {show_about(place.along, unit)} along the line"
    if place.connector:
        words.insert(0, f"connector {place.connector}")
    return f"{', '.join(words)}, {show_about(place.along, unit)} along the line"


def pixels_at(site: Site, line: str, wire: float) -> str:
    """Say which pixels a place is at or between; ``wire`` m of string wire lie before it."""
    own = site.places[line]
    before = own.pixel_before(wire)
    if before and wire - own.wire[before - 1] <= SAME_POSITION / 4:
        return f"at pixel {before}"
    if before == 0:
        return "before pixel 1"
    if before == own.span.count:
        return f"after pixel {before}"
    return f"between pixels {before} and {before + 1}"


def edge_at(site: Site, line: str, along: float) -> str:
    """Return the edge of the pixel nearest to a place; empty if all pixels are hidden."""
    k = near_pixel(site, line, along)
    return "" if k is None else site.pixels.edge_names[site.pixels.edge[k]]


def near_pixel(site: Site, line: str, along: float) -> int | None:
    """Return the row of the map of the pixel on an edge that is nearest to a place."""
    span = site.places[line].span
    rows = span.first + np.flatnonzero(site.pixels.edge[span.slice] >= 0)
    if not len(rows):
        return None
    return int(rows[np.abs(site.pixels.along_line[rows] - along).argmin()])
