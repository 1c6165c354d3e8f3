"""What marks leave open: a point of the house whose place on the photograph they hardly tell."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.lens.refine import slopes
from lumenmap.camera.lens.shot import Shot
from lumenmap.camera.marks.points import NamedPoint

F = NDArray[np.float64]

#: A point's place is open if it may be off by this part of the photograph's longer side [C]: 20 px
#: of 1,920, ten times what a mark is off.
OPEN = 0.0105


class Unsure(NamedTuple):
    """A point, and how far off it may be drawn (pixels, one standard deviation)."""

    point: NamedPoint
    off: float


def unsure(
    shot: Shot, marked: F, noise: float, lens: float | None, others: Sequence[NamedPoint]
) -> Unsure | None:
    """Return the point in sight that marks say least of, if that is too little.

    Parameters
    ----------
    others
        The points in sight; the rest as of `leeway`.
    """
    if not others:
        return None
    off = leeway(shot, marked, noise, lens, np.array([p.xyz for p in others]))
    worst = int(np.argmax(off))
    return Unsure(others[worst], float(off[worst])) if off[worst] > OPEN * max(shot.size) else None


def leeway(shot: Shot, marked: F, noise: float, lens: float | None, others: F) -> F:
    """Return (P,) how far off other points (P, 3) may be drawn, in pixels.

    One standard deviation, as errors of the marks go on through the camera, to the first order.

    Parameters
    ----------
    marked
        (K, 3) the points whose marks fit.
    noise
        How far off these are, in pixels.
    lens
        The focal length that was given, in mm on full frame.
    """
    known, usual = slopes(shot, marked, lens)
    moves, _ = slopes(shot, others, lens)
    spread = np.linalg.inv(known.T @ known / noise**2 + usual.T @ usual)
    square = np.einsum("ij,jk,ik->i", moves, spread, moves).reshape(-1, 2).sum(1)
    return np.asarray(np.sqrt(square))
