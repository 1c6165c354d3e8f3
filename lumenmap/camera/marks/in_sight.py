"""Which points of a house a camera has in sight: those that are marked, it must have had."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.lens.shot import Shot
from lumenmap.camera.marks.points import NamedPoint, named_points
from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_about
from lumenmap.pictures.scene.hides import hides
from lumenmap.site import Site

#: A line of sight begins so far from a point (m).
OFF = 0.02


def points_in_sight(site: Site, shot: Shot) -> list[NamedPoint]:
    """Return the points of a house that a photograph shows."""
    every, (w, h) = list(named_points(site.house).values()), shot.size
    at, depth = shot.project(np.array([p.xyz for p in every]))
    inside = (depth > 0) & ((at > 0) & (at < (w, h))).all(1)
    shown = inside & ~hidden(site, shot, every)
    return [p for p, ok in zip(every, shown, strict=True) if ok]


def hidden(site: Site, shot: Shot, points: Sequence[NamedPoint]) -> NDArray[np.bool_]:
    """Return (K,) which points the house hides from a camera."""
    xyz = np.array([p.xyz for p in points])
    towards = shot.position - xyz
    towards /= np.linalg.norm(towards, axis=1, keepdims=True)
    found: NDArray[np.bool_] = hides(site.house, shot.position[None], xyz + OFF * towards)[0]
    return found


def require_in_sight(site: Site, shot: Shot, points: Sequence[NamedPoint]) -> None:
    """Refuse a camera that most of its marks are hidden from: nobody could have marked them."""
    if (count := int(hidden(site, shot, points).sum())) > len(points) / 2:
        away = show_about(abs(float(shot.position[1])), site.house.unit)
        where = f"{away} {'behind' if shot.position[1] > 0 else 'in front of'} the house's origin"
        raise InputError(
            f"the camera would have stood {where}, from where the house hides {count} of the "
            f"{len(points)} points that fit; check that the photograph isn't mirrored, and that "
            "left and right are as seen from the street",
            key="mark",
        )
