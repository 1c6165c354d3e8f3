"""Edges measured leg by leg, as with a tape and a compass, and how well a loop closes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_length
from lumenmap.house.choices import Unit
from lumenmap.house.model import Points
from lumenmap.house.reading.file import LegTable

#: A loop that misses its start by more of its length than this has a blunder in it: our choice.
MAX_MISCLOSURE = 1 / 20


class Traverse(NamedTuple):
    """A line measured leg by leg.

    Attributes
    ----------
    points
        (K, 3) m; those of a loop are adjusted already.
    misclosure
        By how much a loop missed its start (m); None for an open line.
    """

    points: Points
    misclosure: float | None


def traverse(
    start: Points, legs: list[LegTable], front_faces: float, closed: bool, unit: Unit
) -> Traverse:
    """Return the line that legs describe from a point.

    A loop is adjusted by the compass rule (Bowditch) of surveyors' handbooks: each leg takes a
    part of the misclosure in proportion to its length.

    Parameters
    ----------
    front_faces
        Compass heading that the house's front faces (rad).

    Raises
    ------
    InputError
        The first leg has no heading, a leg has two, or a loop misses by more than `MAX_MISCLOSURE`.
    """
    steps, bearing = [], None
    for i, leg in enumerate(legs):
        given = [n for n in ("heading", "left", "right") if getattr(leg, n) is not None]
        if len(given) > 1:
            raise InputError(f"has {' and '.join(given)}; expected one of them", key=f"leg {i + 1}")
        if leg.heading is not None:
            # +y, away from the street, lies opposite to where the front faces.
            bearing = leg.heading - front_faces - np.pi
        elif bearing is None and not np.isinf(leg.slope):
            raise InputError(
                'the first leg needs a compass heading, such as heading = "90 deg" for east',
                key=f"leg {i + 1}",
            )
        steep = np.arctan(leg.slope)  # a post's is a right angle, up or down
        run, rise = float(leg.length) * np.cos(steep), float(leg.length) * np.sin(steep)
        if bearing is None:
            steps.append([0.0, 0.0, rise])
            continue
        bearing += (leg.right or 0.0) - (leg.left or 0.0)
        steps.append([run * np.sin(bearing), run * np.cos(bearing), rise])
    points = np.concatenate([start[None], start + np.cumsum(steps, axis=0)])
    if not closed:
        return Traverse(points, None)
    lengths = np.array([float(leg.length) for leg in legs])
    error = points[-1] - points[0]
    misclosure, total = float(np.linalg.norm(error)), float(lengths.sum())
    if misclosure > MAX_MISCLOSURE * total:
        raise InputError(
            f"the legs end {show_length(misclosure, unit)} from their start after "
            f"{show_length(total, unit)}, so one of them is wrong: check each length and turn",
            key="legs",
        )
    share = np.concatenate([[0.0], np.cumsum(lengths)]) / total
    return Traverse(points - share[:, None] * error, misclosure)
