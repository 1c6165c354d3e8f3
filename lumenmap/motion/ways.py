"""Ways: the paths along the house that effects can follow, as distances in metres.

One option for all effects. The distance is 0 at the beginning of the way. It doesn't depend on how
the wire runs, except for ``line``, which is the wire. Routes are measured on the house before any
effect is asked: here they are looked up.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.motion.at import At
from lumenmap.motion.distance import Distance
from lumenmap.motion.kept import kept
from lumenmap.motion.shapes import norm
from lumenmap.routes.route import AROUND, Route

F = NDArray[np.float64]

#: Name to description.
WAYS = {
    "line": "along the wire, from its first pixel",
    "edge": "along each edge, from its start",
    "edge reversed": "along each edge, from its end",
    "edge outward": "from the middle of each edge to its ends",
    "edge inward": "from the ends of each edge to its middle",
    "across": "across the house, left to right as seen from the street",
    "up": "up, from the lowest pixel",
    "away": "away from the street, from the nearest pixel",
    "round": "along all edges as one walks round the house, counter-clockwise as seen from above, "
    "from the front left; each edge once, in metres of its own length",
    "once round": "as round, but from end to end: what leaves at the end doesn't begin again",
}
#: A list of edges, as an example of one.
LISTED = '["main/rake-left", "main/rake-right"]'
#: What else a way may be, and what that is.
OTHER_WAYS = {
    "from CORNER": "from a corner of the house, by distance in space",
    "along ROUTE": "along a [[route]] of the show or the house; pixels that aren't on it stay dark",
    "[EDGE, …]": f"along these edges in order: {LISTED}",
}

#: Places of any house, as fractions of the box around its pixels: across, away, up.
PLACES = {
    "left": (0.0, 0.0, 0.5),
    "right": (1.0, 0.0, 0.5),
    "top": (0.5, 0.0, 1.0),
    "bottom": (0.5, 0.0, 0.0),
    "bottom left": (0.0, 0.0, 0.0),
    "bottom right": (1.0, 0.0, 0.0),
    "middle": (0.5, 0.5, 0.5),
}


def check(way: object) -> str | Route:
    """Return ``way`` if it is valid.

    Raises
    ------
    InputError
        No such way; suggests the nearest and lists all.
    """
    if isinstance(way, Route):
        return way
    if isinstance(way, str) and (
        way in WAYS or (way.startswith(("from ", "along ")) and len(way) < 200)
    ):
        return way
    said = unknown("way", str(way), [*WAYS, "from CORNER", "along ROUTE"])
    hint = "" if "did you mean" in said else f'. If it is a route, write "along {str(way)[:80]}"'
    raise InputError(said + hint)


@kept(64)
def measure(at: At, way: str | Route) -> Distance:
    """Measure a way at each place; measured once for each `At`, which never changes.

    Raises
    ------
    InputError
        No such way, no such route, or no such corner to start from; suggests the nearest.
    """
    if way in at.routes:
        return at.routes[way]
    word = check(way)
    if isinstance(word, Route) or word in AROUND or word.startswith("along "):
        raise InputError(unknown("route", str(way).removeprefix("along "), _routes(at)))
    if word == "line":
        return Distance(at.along_line, at.line_length)
    if word == "edge":
        return Distance(at.along_edge, at.edge_length)
    if word == "edge reversed":
        return Distance(at.edge_length - at.along_edge, at.edge_length)
    if word == "edge outward":
        half = at.edge_length / 2
        return Distance(np.abs(at.along_edge - half), half)
    if word == "edge inward":
        half = at.edge_length / 2
        return Distance(half - np.abs(at.along_edge - half), half)
    axis = {"across": 0, "away": 1, "up": 2}.get(word)
    if axis is not None:
        return _over_extent(at.xyz[:, axis] - at.low[axis], float(at.high[axis] - at.low[axis]))
    return _from_corner(at, word[len("from ") :])


def _routes(at: At) -> list[str]:
    return [str(name).removeprefix("along ") for name in at.routes]


def point(at: At, name: str) -> F:
    """Return a corner of the house (3,) m, by its name or by where it is on any house.

    Raises
    ------
    InputError
        No such corner; suggests the nearest.
    """
    if name in at.corners:
        return at.corners[name]
    if name not in PLACES:
        raise InputError(unknown("corner", name, [*PLACES, *at.corners]))
    return np.asarray(at.low + (at.high - at.low) * np.array(PLACES[name]))


def _over_extent(metres: F, whole: float) -> Distance:
    # A house without this extent (a front has no depth) gets a way a millimetre long.
    return Distance(metres, np.full(len(metres), max(whole, 1e-3)))


def _from_corner(at: At, corner: str) -> Distance:
    start = point(at, corner)
    ends = np.where(np.abs(at.high - start) > np.abs(at.low - start), at.high, at.low)
    return _over_extent(norm(at.xyz - start), float(norm((ends - start)[None])[0]))
