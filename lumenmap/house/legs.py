"""Edges walked leg by leg, as with a tape and a compass, and how well a loop closes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.core.units import show_length
from lumenmap.house.file import LegTable
from lumenmap.house.model import Points

#: A loop that misses its start by more of its length than this is a blunder, not a misclosure.
WORST = 1 / 20


@dataclass(frozen=True, slots=True, eq=False)
class Walked:
    """Points (K, 3) of a walk, and by how many m a closed one missed its start.

    The miss is shared out already; it is None for an open walk.
    """

    points: Points
    missed: float | None


def walk(
    start: Points, legs: list[LegTable], front_faces: float, closed: bool, unit: str
) -> Walked:
    """Walk legs from a place.

    A closed walk is adjusted by the compass rule (Bowditch): each leg takes of the misclosure as
    much as it has of the length, as surveyors' handbooks have it.

    Parameters
    ----------
    front_faces
        Compass heading that the house's front faces (rad).

    Raises
    ------
    InputError
        The first leg has no heading, a leg has two, or a loop misses by more than `WORST`.
    """
    steps, bearing = [], None
    for i, leg in enumerate(legs):
        given = [n for n in ("heading", "left", "right") if getattr(leg, n) is not None]
        if len(given) > 1:
            raise InputError(f"has {' and '.join(given)}; wanted one", key=f"leg {i + 1}")
        if leg.heading is not None:
            # +y, away from the street, lies opposite to where the front faces.
            bearing = leg.heading - front_faces - np.pi
        elif bearing is None:
            raise InputError(
                'the first leg wants a compass heading, such as heading = "90 deg" for east',
                key=f"leg {i + 1}",
            )
        bearing += (leg.right or 0.0) - (leg.left or 0.0)
        run = float(leg.length) / np.hypot(1.0, leg.slope)
        steps.append([run * np.sin(bearing), run * np.cos(bearing), run * leg.slope])
    points = np.concatenate([start[None], start + np.cumsum(steps, axis=0)])
    if not closed:
        return Walked(points, None)
    lengths = np.array([float(leg.length) for leg in legs])
    error = points[-1] - points[0]
    missed, total = float(np.linalg.norm(error)), float(lengths.sum())
    if missed > WORST * total:
        raise InputError(
            f"the legs end {show_length(missed, unit)} from their start after "
            f"{show_length(total, unit)}, so one of them is wrong: check each length and turn",
            key="legs",
        )
    share = np.concatenate([[0.0], np.cumsum(lengths)]) / total
    return Walked(points - share[:, None] * error, missed)
