"""`Shape`: a mass in its own coordinates, to which the roof, the walls and the trim are added.

Coordinates: the front-left corner of the walls at 0, 0, the floor at 0; x along the front, y away
from it, z up; metres.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.masses.kinds import EdgeKind, FaceKind, Side
from lumenmap.house.masses.mass import Mass, Points

#: A horizontal coordinate, or many.
Level = TypeVar("Level", float, NDArray[np.float64])

SIDES: tuple[Side, ...] = ("front", "right", "back", "left")
#: The horizontal direction out of each side.
OUTWARD: dict[Side, tuple[int, int, int]] = {
    "front": (0, -1, 0),
    "right": (1, 0, 0),
    "back": (0, 1, 0),
    "left": (-1, 0, 0),
}


class ShapeEdge(NamedTuple):
    """An edge of a shape: its kind, its points (K, 3), its facing, and its roof plane, if any.

    ``fascia``: whether it has a fascia board.
    """

    kind: EdgeKind
    points: Points
    facing: Points
    plane: str | None
    fascia: bool


@dataclass(slots=True, eq=False)
class Shape:
    """The corners, edges and faces of a mass.

    Attributes
    ----------
    mass
        Its dimensions.
    corners
        Named points, (3,).
    edges
        Named edges. Those of the rim run round the roof counter-clockwise as seen from above, so
        along the front from left to right; ridges run right or back; hips and posts rise.
    faces
        Name to (kind, (K, 3) corners counter-clockwise as seen from outside).
    eave_sides
        The sides from whose eaves the roof rises.
    gable_peaks
        The peak of a gable wall, x, y, z, by side.
    """

    mass: Mass
    corners: dict[str, Points] = field(default_factory=dict)
    edges: dict[str, ShapeEdge] = field(default_factory=dict)
    faces: dict[str, tuple[FaceKind, Points]] = field(default_factory=dict)
    eave_sides: tuple[Side, ...] = ()
    gable_peaks: dict[Side, tuple[float, float, float]] = field(default_factory=dict)

    def rise(self, run: Level) -> Level:
        """Return the height of a plane that is ``run`` m inside the walls' face under its eave.

        The same for all planes; the lowest eave, that of the deepest overhang, is ``mass.eave``.
        """
        m = self.mass
        return m.eave + m.slope * (run + max(m.overhang.of(side) for side in self.eave_sides))

    def height(self, x: Level, y: Level) -> Level:
        """Return the height of the roof above points: every plane rises from its own eave."""
        m = self.mass
        inward: dict[Side, Level] = {
            "left": x,
            "right": m.width - x,
            "front": y,
            "back": m.depth - y,
        }
        run: Level = np.minimum.reduce([inward[side] for side in self.eave_sides])
        return self.rise(run)

    def corner(self, name: str, x: float, y: float, z: float) -> None:
        """Add a named point."""
        self.corners[name] = np.array([x, y, z], float)

    def edge(
        self,
        name: str,
        kind: EdgeKind,
        ends: tuple[str, str],
        facing: tuple[float, ...] | Points,
        plane: str | None = None,
        *,
        fascia: bool = False,
    ) -> None:
        """Add an edge from one named corner to another; an edge of length 0 is left out."""
        points = np.stack([self.corners[name] for name in ends])
        if np.linalg.norm(points[1] - points[0]) < 1e-9:
            return
        normal = np.array(facing, float)
        normal /= np.linalg.norm(normal)
        self.edges[name] = ShapeEdge(kind, points, normal, plane, fascia)

    def face(self, name: str, kind: FaceKind, corners: Points) -> None:
        """Add a face."""
        self.faces[name] = (kind, corners)

    def plane(self, name: str, *corners: str) -> None:
        """Add a roof plane by named corners, in either order; it is turned to face up."""
        points = np.stack([self.corners[c] for c in corners])
        points = points[np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1) > 1e-9]
        x, y = points[:, 0], points[:, 1]
        area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
        self.face(name, "roof", points if area > 0 else points[::-1])
