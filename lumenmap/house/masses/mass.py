"""`Mass`: one block of the building."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.masses.kinds import RidgeDirection, RoofShape, Side

Points = NDArray[np.float64]


class Overhang(NamedTuple):
    """How far a roof reaches beyond the walls on each side, measured level (m)."""

    front: float = 0.0
    right: float = 0.0
    back: float = 0.0
    left: float = 0.0

    def of(self, side: Side) -> float:
        """Return that of one side."""
        return float(getattr(self, side))


class Longer(NamedTuple):
    """A side on which a mass goes on to the one that it leans on, and by how much (m)."""

    side: Side
    by: float


class Mass(NamedTuple):
    """One block of the building, before its corners are calculated.

    Attributes
    ----------
    width, depth
        From wall to wall (m).
    eave
        Height of the roof's lowest edge above the base (m).
    slope
        Rise over run.
    overhang
        How far the roof reaches beyond the walls.
    position
        x, y of the front-left corner of the walls (m).
    rotate
        Rotation about that corner, counter-clockwise as seen from above (rad).
    base
        Height of the floor (m).
    foot
        How far walls or posts go on below the floor, down to the ground (m).
    ridge
        Direction of a gable roof's ridge.
    hip_end
        The one end of a gable roof that is a hip.
    high
        The side that a shed roof rises to.
    leans_on
        The mass that its roof goes on to.
    longer
        What that added to its walls.
    walls
        False for an open roof on posts.
    """

    name: str
    roof: RoofShape
    width: float
    depth: float
    eave: float
    slope: float
    overhang: Overhang
    position: tuple[float, float]
    rotate: float
    base: float
    ridge: RidgeDirection = "away"
    high: Side = "back"
    walls: bool = True
    hip_end: Side | None = None
    leans_on: str | None = None
    longer: Longer | None = None
    foot: float = 0.0
