"""Ways: the paths along the house that effects can follow, as distances in metres.

One option for all effects. The distance is 0 at the beginning of the way. It doesn't depend on how
the wire runs, except for ``line``, which is the wire.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.motion.at import At
from lumenmap.motion.kept import kept
from lumenmap.motion.shapes import norm

F = NDArray[np.float64]
#: A length, or one for each frame (T, 1).
R = TypeVar("R", float, F, float | F)

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
    "round": "around the house, counter-clockwise as seen from above, from the front left",
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


@dataclass(frozen=True, slots=True, eq=False)
class Distance:
    """A way measured at N places.

    Attributes
    ----------
    metres
        (N,) m from the way's beginning, never negative.
    whole
        (N,) m: the length of the whole way at each place: its edge, its wire, the house…
    circuit
        The way's length in m if it is closed, else None.
    """

    metres: F
    whole: F
    circuit: float | None = None

    def fit(self, repeat: R) -> R:
        """Return the repeat nearest to ``repeat`` (m) of which a closed way has a whole number."""
        if self.circuit is None:
            return repeat
        fitting: Any = self.circuit / np.maximum(1, np.round(self.circuit / repeat))
        return cast(R, fitting)


def check(way: object) -> str:
    """Return ``way`` if it is valid.

    Raises
    ------
    InputError
        No such way; suggests the nearest and lists all.
    """
    if isinstance(way, str) and (way in WAYS or (way.startswith("from ") and len(way) < 200)):
        return way
    raise InputError(unknown("way", str(way), [*WAYS, "from CORNER"]))


@kept(64)
def measure(at: At, way: str) -> Distance:
    """Measure a way at each place; measured once for each `At`, which never changes.

    Raises
    ------
    InputError
        No such way, or no such corner to start from; suggests the nearest.
    """
    if way == "line":
        return Distance(at.along_line, at.line_length)
    if way == "edge":
        return Distance(at.along_edge, at.edge_length)
    if way == "edge reversed":
        return Distance(at.edge_length - at.along_edge, at.edge_length)
    if way == "edge outward":
        half = at.edge_length / 2
        return Distance(np.abs(at.along_edge - half), half)
    if way == "edge inward":
        half = at.edge_length / 2
        return Distance(half - np.abs(at.along_edge - half), half)
    axis = {"across": 0, "away": 1, "up": 2}.get(way)
    if axis is not None:
        return _over_extent(at.xyz[:, axis] - at.low[axis], float(at.high[axis] - at.low[axis]))
    if way == "round":
        return _round(at)
    return _from_corner(at, check(way)[len("from ") :])


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


def _round(at: At) -> Distance:
    """Distance along the plan's bounding rectangle, where a ray from its middle meets it."""
    half = (at.high - at.low)[:2] / 2
    # The rectangle of a house drawn as a front only gets a little depth.
    half = np.maximum(half, max(float(half.max()), 0.01) / 100)
    x, y = (at.xyz[:, :2] - (at.low + at.high)[:2] / 2).T
    reach = np.maximum(np.maximum(np.abs(x) / half[0], np.abs(y) / half[1]), 1e-9)
    x, y = x / reach, y / reach
    wide, deep = 2 * half[0], 2 * half[1]
    front = y <= -half[1] * (1 - 1e-9)
    right = x >= half[0] * (1 - 1e-9)
    back = y >= half[1] * (1 - 1e-9)
    metres = np.select(
        [front, right, back],
        [x + half[0], wide + y + half[1], wide + deep + half[0] - x],
        2 * wide + deep + half[1] - y,
    )
    circuit = float(2 * (wide + deep))
    return Distance(np.maximum(metres, 0.0), np.full(len(metres), circuit), circuit)


def _from_corner(at: At, corner: str) -> Distance:
    start = point(at, corner)
    ends = np.where(np.abs(at.high - start) > np.abs(at.low - start), at.high, at.low)
    return _over_extent(norm(at.xyz - start), float(norm((ends - start)[None])[0]))
