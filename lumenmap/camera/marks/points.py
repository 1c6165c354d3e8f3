"""The points of a house that a person can find on a photograph, by name."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.model import Face, House

F = NDArray[np.float64]

#: The corners of an opening or a wall, as faces have them: from the lower left, seen from outside.
_CORNERS = ("bottom-left", "bottom-right", "top-right", "top-left")
#: Between the walls of two sides stands this corner.
_FEET = (
    ("front-left", "front", 0),
    ("front-right", "front", 1),
    ("back-right", "back", 0),
    ("back-left", "back", 1),
)
#: The marks that say most, first: far apart in width, height and depth.
_GOOD = ("roof", "peak", "foot", "opening", "edge")


@dataclass(frozen=True, slots=True, eq=False)
class NamedPoint:
    """A point of the house: ``main/door 1 top-left``.

    Attributes
    ----------
    name
        As files of marks have it.
    xyz
        (3,) m.
    kind
        ``roof``, ``peak``, ``foot``, ``opening`` or ``edge``.
    words
        Where to look for it.
    """

    name: str
    xyz: F
    kind: str
    words: str


def named_points(house: House) -> dict[str, NamedPoint]:
    """Return a house's points by name: corners of roofs, peaks, feet, openings, edges' ends."""
    found: dict[str, NamedPoint] = {}

    def add(name: str, xyz: F, kind: str, words: str) -> None:
        found[name] = NamedPoint(name, np.asarray(xyz, np.float64), kind, words)

    masses = {mass.name: mass for mass in house.masses}
    for name, xyz in house.corners.items():
        of, _, own = name.rpartition("/")
        if of not in masses:
            add(name, xyz, "edge", f'the {own} of edge "{of}"')
        elif own.startswith("peak-"):
            add(name, xyz, "peak", f"the {own.removeprefix('peak-')} end of {of}'s ridge")
        elif own.startswith("post-"):
            add(name, xyz, "foot", f"the {own.rpartition('-')[2]} of {of}'s {_spoken(own)}")
        else:
            where = _spoken(own)
            add(name, xyz, "roof", f"{of}'s roof corner at the {where}, upper edge of the board")
    faces = {face.name: face for face in house.faces}
    for mass in house.masses:
        for corner, side, which in _FEET:
            if (
                wall := faces.get(f"{mass.name}/wall-{side}")
            ) is not None and mass.base - mass.foot < 0.5:
                words = f"the foot of {mass.name}'s wall corner at the {_spoken(corner)}"
                add(f"{mass.name}/foot-{corner}", wall.corners[which], "foot", words)
    for face in house.faces:
        if face.kind in ("window", "door"):
            own = _opening(face)
            for corner, xyz in zip(_CORNERS, face.corners, strict=True):
                words = f"the {_spoken(corner)} of {own}, where the opening meets the wall"
                add(f"{own} {corner}", xyz, "opening", words)
    return found


def _spoken(name: str) -> str:
    return name.removeprefix("post-").removesuffix("-foot").removesuffix("-top").replace("-", " ")


def _opening(face: Face) -> str:
    """Return an opening's name as its edge has it where it has none of its own: window 1."""
    of, _, own = face.name.rpartition("/")
    kind, _, number = own.partition("-")
    return f"{of}/{kind} {int(number) + 1}"


def good_order(points: list[NamedPoint], places: F) -> list[NamedPoint]:
    """Return points so that the first few are far apart, in space and in the picture.

    Parameters
    ----------
    places
        (K, 2) where each is in the picture, pixels.
    """
    if not points:
        return []
    xyz = np.array([p.xyz for p in points])
    both = np.hstack([_spread(xyz), _spread(places)])
    handy = np.array(
        [(1.0 - 0.12 * _GOOD.index(p.kind)) * (0.3 if "back" in p.name else 1.0) for p in points]
    )
    order = [int(np.argmax(handy * np.linalg.norm(both - both.mean(0), axis=1)))]
    near = np.full(len(points), np.inf)
    while len(order) < len(points):
        near = np.minimum(near, np.linalg.norm(both - both[order[-1]], axis=1))
        score = near * handy
        score[order] = -1
        order.append(int(np.argmax(score)))
    return [points[i] for i in order]


def _spread(values: F) -> F:
    size = np.ptp(values, axis=0).max()
    return np.asarray((values - values.mean(0)) / max(float(size), 1e-9))
