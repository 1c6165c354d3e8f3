"""What a mass above the ground stands on: another mass, or walls and posts that go down to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from lumenmap.house.masses.filled import placed, placing
from lumenmap.house.masses.mass import Mass, Points

#: An oriel, a jetty or a canopy hangs out from the mass that carries it by no more than this (m);
#: lower than this (m) an open roof has posts that stand: common practice, no source.
REACH, OVERHEAD = 1.2, 2.0


def standing(mass: Mass, others: Mapping[str, Mass | None]) -> Mass:
    """Return a mass whose walls or posts go down to the ground, unless another mass carries it.

    It is carried if each corner of its floor is over a mass whose floor is lower, or beside it by
    `REACH` at most; a post that isn't overhead needs something under it.

    Parameters
    ----------
    others
        All masses by name; None for one that can't be read, which carries nothing.
    """
    if mass.base <= 0:
        return mass
    reach = REACH if mass.walls or mass.base >= OVERHEAD else 0.0
    lower = [m for m in others.values() if m is not None and m.base < mass.base]
    if all(_over(corner, lower, reach) for corner in placed(_floor(mass), mass)):
        return mass
    return mass._replace(foot=mass.base)


def _floor(mass: Mass) -> Points:
    w, d = mass.width, mass.depth
    return np.array([(0, 0, 0), (w, 0, 0), (w, d, 0), (0, d, 0)], float)


def _over(point: Points, masses: Iterable[Mass], reach: float) -> bool:
    """Return whether a point (3,) is over a mass, or beside one by ``reach`` m at most."""
    for mass in masses:
        rotation, offset = placing(mass)
        own = (rotation.T @ (point - offset))[:2]
        out = np.maximum.reduce([-own, own - (mass.width, mass.depth), np.zeros(2)])
        if np.hypot(*out) <= reach + 1e-6:
            return True
    return False
