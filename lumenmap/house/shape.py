"""`Shape`: a mass in its own frame, built up by the roof, the walls and the trim in turn.

The frame: the front-left corner of the walls at 0, 0, the floor at 0; x along the front, y away
from it, z up; metres.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.model import Mass, Points

#: A level measure, or many.
Level = TypeVar("Level", float, NDArray[np.float64])

SIDES = ("front", "right", "back", "left")
#: The level way out of each side.
OUT = {"front": (0, -1, 0), "right": (1, 0, 0), "back": (0, 1, 0), "left": (-1, 0, 0)}


@dataclass(frozen=True, slots=True, eq=False)
class Rim:
    """An edge of a shape: its kind, its two ends, where it faces, and the roof plane it bounds.

    ``below``: whether a fascia board hangs from it.
    """

    kind: str
    points: Points
    facing: Points
    plane: str | None
    below: bool


@dataclass(slots=True, eq=False)
class Shape:
    """A mass taking shape.

    Attributes
    ----------
    mass
        Its measures.
    corners
        Named places, (3,).
    edges
        Named edges. Those of the rim run round the roof counter-clockwise as seen from above, so
        along the front from left to right; ridges run right or back; hips and posts rise.
    faces
        Name to (kind, (K, 3) corners counter-clockwise as seen from outside).
    rises
        The sides from whose eaves the roof rises.
    crowns
        The peak of a gable wall, x, y, z, by side.
    """

    mass: Mass
    corners: dict[str, Points] = field(default_factory=dict)
    edges: dict[str, Rim] = field(default_factory=dict)
    faces: dict[str, tuple[str, Points]] = field(default_factory=dict)
    rises: tuple[str, ...] = ()
    crowns: dict[str, tuple[float, float, float]] = field(default_factory=dict)

    def height(self, x: Level, y: Level) -> Level:
        """Return the roof's height over places: every plane rises from its own eave."""
        m = self.mass
        inward = {"left": x, "right": m.width - x, "front": y, "back": m.depth - y}
        run: Level = np.minimum.reduce([inward[side] for side in self.rises])
        return m.eave + m.slope * (run + m.overhang)

    def corner(self, name: str, x: float, y: float, z: float) -> None:
        """Name a place."""
        self.corners[name] = np.array([x, y, z], float)

    def edge(
        self,
        name: str,
        kind: str,
        start: str,
        stop: str,
        facing: tuple[float, ...] | Points,
        plane: str | None = None,
        *,
        below: bool = False,
    ) -> None:
        """Add an edge between two named corners; an edge of no length is left out."""
        points = np.stack([self.corners[start], self.corners[stop]])
        if np.linalg.norm(points[1] - points[0]) < 1e-9:
            return
        way = np.array(facing, float)
        self.edges[name] = Rim(kind, points, way / np.linalg.norm(way), plane, below)

    def face(self, name: str, kind: str, corners: Points) -> None:
        """Add a face."""
        self.faces[name] = (kind, corners)

    def plane(self, name: str, *corners: str) -> None:
        """Add a roof plane by named corners, in either order; it is turned to face the sky."""
        points = np.stack([self.corners[c] for c in corners])
        points = points[np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1) > 1e-9]
        x, y = points[:, 0], points[:, 1]
        area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
        self.face(name, "roof", points if area > 0 else points[::-1])
