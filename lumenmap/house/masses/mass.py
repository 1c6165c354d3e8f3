"""`Mass`: one block of the building."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.masses.kinds import RidgeDirection, RoofShape, Side

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Mass:
    """One block of the building, before its corners are calculated.

    Attributes
    ----------
    width, depth
        From wall to wall (m).
    eave
        Height of the roof's lower edge above the base (m).
    slope
        Rise over run.
    overhang
        How far the roof reaches beyond the walls, measured level (m).
    position
        x, y of the front-left corner of the walls (m).
    rotate
        Rotation about that corner, counter-clockwise as seen from above (rad).
    base
        Height of the floor (m).
    ridge
        Direction of a gable roof's ridge.
    high
        The side that a shed roof rises to.
    walls
        False for an open roof on posts.
    """

    name: str
    roof: RoofShape
    width: float
    depth: float
    eave: float
    slope: float
    overhang: float
    position: tuple[float, float]
    rotate: float
    base: float
    ridge: RidgeDirection = "away"
    high: Side = "back"
    walls: bool = True
