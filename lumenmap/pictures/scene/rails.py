"""Where the lamps sit in the picture, and the drilled rails that hold them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.surface import Colour, Surface, flat
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.site import Site

F = NDArray[np.float64]

#: Distance of rails from the edge outwards, and below the fascia board's lower edge (m), so that
#: light reaches wall and soffit (common practice, no source).
OUT, BELOW = 0.03, 0.035
#: Kinds of edge that may have a fascia board, and how near to it they must be (m).
ALONG, NEAR = ("eave", "rake", "fascia"), 0.10
#: Tangent of the angle by which such a rail is turned down.
TILT = 1.0
#: Height of a rail (m): 1 in pipe is 33 mm across (ASTM D1785).
HEIGHT = 0.034
WHITE: Colour = (0.60, 0.60, 0.58)


def lamp_places(site: Site) -> tuple[F, F]:
    """Return (N, 3) positions of the lamps (m), and (N, 3) unit vectors of their directions.

    Under a fascia board the rail hangs at its lower edge and is turned down to wall and ground.
    """
    house, pixelmap = site.house, site.pixels
    places = pixelmap.xyz + OUT * pixelmap.facing
    boards = [f.corners for f in house.faces if f.kind == "fascia"]
    low = np.array([b.min(0) for b in boards]).reshape(-1, 3) - NEAR
    high = np.array([b.max(0) for b in boards]).reshape(-1, 3) + NEAR
    drop = np.zeros(len(pixelmap.edge_names) + 1)  # the last is that of spares, edge -1
    for n, name in enumerate(pixelmap.edge_names):
        edge = house.edges[name]
        middle = edge.points[[0, -1]].mean(0)
        near = ((middle >= low) & (middle <= high)).all(1) & (edge.kind in ALONG)
        if near.any():
            drop[n] = max(_board(boards[k]) for k in np.flatnonzero(near)) + BELOW
    dropped = drop[pixelmap.edge]
    places[:, 2] -= dropped
    facing = pixelmap.facing - np.outer(dropped > 0, (0.0, 0.0, TILT))
    return places, facing / np.linalg.norm(facing, axis=1, keepdims=True)


def rails(places: F, pixelmap: PixelMap) -> list[Surface]:
    """Return a strip behind each straight run of lamps."""
    made: list[Surface | None] = []
    for first, last in _runs(places, pixelmap):
        a, b = places[first], places[last]
        along = (b - a) / max(float(np.linalg.norm(b - a)), 1e-9)
        facing = pixelmap.facing[first]
        across = np.cross(facing, along)
        half = HEIGHT / 2 * across
        back = -0.012 * facing
        tail = 0.04 * along
        corners = [a - tail - half, b + tail - half, b + tail + half, a - tail + half]
        made.append(flat("rail", np.array(corners) + back, WHITE, "rail"))
    return [s for s in made if s is not None]


def _runs(places: F, pixelmap: PixelMap) -> list[tuple[int, int]]:
    """Return the first and last lamp of each straight run on an edge."""
    n = len(places)
    if n < 2:
        return []
    step = np.diff(places, axis=0)
    size = np.linalg.norm(step, axis=1)
    unit = step / np.maximum(size, 1e-9)[:, None]
    ends = (pixelmap.edge[1:] != pixelmap.edge[:-1]) | (pixelmap.edge[1:] < 0) | (size < 1e-6)
    ends[1:] |= np.einsum("nk,nk->n", unit[1:], unit[:-1]) < 0.999
    cuts = [0, *(np.flatnonzero(ends) + 1).tolist(), n]
    pairs = zip(cuts[:-1], (c - 1 for c in cuts[1:]), strict=True)
    return [(a, b) for a, b in pairs if b > a and pixelmap.edge[a] >= 0]


def _board(corners: F) -> float:
    """Return the height of a fascia board: the longest of its vertical sides (m)."""
    side = np.roll(corners, -1, axis=0) - corners
    vertical = np.hypot(side[:, 0], side[:, 1]) < 1e-6
    return float(np.abs(side[vertical, 2]).max(initial=0.0))
