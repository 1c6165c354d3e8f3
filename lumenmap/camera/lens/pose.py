"""`find_shot`: where a camera stood, from points of the house and where they are in its photograph.

Strategy: the focal length is scanned; for each, small sets of points give a pose in closed form
(Terzakis and Lourakis, "A consistently fast and globally optimal solution to the
perspective-n-point problem", 2020 [P], as OpenCV has it), and the best few of all are refined.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.extra import opencv
from lumenmap.camera.lens.found import Found, Search
from lumenmap.camera.lens.refine import refine, rough
from lumenmap.camera.lens.shot import Shot
from lumenmap.core.errors import InputError
from lumenmap.core.wording import some

F = NDArray[np.float64]

#: Fewest points: six for the pose, one for the focal length, in pairs of coordinates; one more, so
#: that a residual is left.
FEWEST = 5
#: Nothing else is taken for a camera's height (m): under the ground, or on another roof.
HEIGHTS = (-3.0, 30.0)
#: More points than this are sampled, so many times, in place of trying every set.
MANY, SAMPLES = 14, 400
#: Candidates that are refined.
REFINED = 4


def on_one_line(points: F) -> bool:
    """Return whether points (K, 3) lie on one line, within 2 % of its length."""
    spread = np.linalg.svd(points - points.mean(0), compute_uv=False)
    return bool(spread[1] < 0.02 * spread[0])


def find_shot(points: F, places: F, search: Search, facing: F | None = None) -> Found:
    """Return the camera that sees points (K, 3) (m) at places (K, 2) (pixels).

    Parameters
    ----------
    facing
        (K, 3) directions from which the points can be seen, if that is known: a camera behind the
        house would see it mirrored.

    Raises
    ------
    InputError
        Too few points, points all on one line, or no camera that sees most of them there.
    """
    if len(points) < FEWEST:
        raise InputError(
            f"{some(len(points), 'point')} can't tell where the camera stood; mark {FEWEST} or more"
        )
    if on_one_line(points):
        raise InputError(
            "all points lie on one line, which looks the same from many places; mark points above "
            "or below it too"
        )
    cv = opencv()
    candidates: list[tuple[float, int, Shot]] = []
    for focal in search.focals:
        for turn, position in _poses(cv, points, places, focal, search):
            if _possible(turn, position, points, facing):
                shot = _shot(turn, position, focal, search)
                candidates.append(
                    (rough(shot, points, places, search.noise), len(candidates), shot)
                )
    if not candidates:
        raise InputError(
            "no camera sees the points where they are marked; check their names, and that their "
            "numbers count right from the left edge, then down from the top"
        )
    few = REFINED if len(points) <= MANY else 2
    best = [shot for _, _, shot in sorted(candidates, key=lambda c: c[:2])[:few]]
    found = [refine(shot, points, places, search) for shot in best]
    found = [f for f in found if _possible(f.shot.turn, f.shot.position, points, facing)] or found
    return min(found, key=lambda f: f.cost)


def _shot(turn: F, position: F, focal: float, search: Search) -> Shot:
    w, h = search.size
    return Shot(position, turn, focal, (w / 2, h / 2), search.size)


def _poses(cv: Any, points: F, places: F, focal: float, search: Search) -> Iterator[tuple[F, F]]:
    """Yield poses (turn, position) from all the points and from sets of them."""
    w, h = search.size
    matrix = np.array([[focal, 0, w / 2], [0, focal, h / 2], [0, 0, 1.0]])
    if len(points) > MANY:
        yield from _sampled(cv, points, places, matrix, search)
        return
    for chosen in _sets(len(points)):
        try:
            done, vector, shift = cv.solvePnP(
                points[chosen], places[chosen], matrix, None, flags=cv.SOLVEPNP_SQPNP
            )
        except cv.error:  # points of a set on one line
            continue
        if done and np.isfinite(vector).all() and np.isfinite(shift).all():
            turn: F = cv.Rodrigues(vector)[0]
            yield turn, -turn.T @ shift.ravel()


def _sampled(cv: Any, points: F, places: F, matrix: F, search: Search) -> Iterator[tuple[F, F]]:
    """Yield the pose that most of many points agree on (Fischler and Bolles, 1981 [P])."""
    cv.setRNGSeed(search.seed)
    try:
        done, vector, shift, _ = cv.solvePnPRansac(
            points,
            places,
            matrix,
            None,
            iterationsCount=SAMPLES,
            reprojectionError=6 * search.noise,
            flags=cv.SOLVEPNP_SQPNP,
        )
    except cv.error:
        return
    if done and np.isfinite(vector).all() and np.isfinite(shift).all():
        turn: F = cv.Rodrigues(vector)[0]
        yield turn, -turn.T @ shift.ravel()


def _sets(count: int) -> Iterator[list[int]]:
    """Yield all points, then all but one, and all but two if they are few."""
    everything = range(count)
    yield list(everything)
    for left_out in range(1, (2 if count <= 10 else 1) + 1):
        for gone in itertools.combinations(everything, left_out):
            if count - left_out >= FEWEST - 1:
                yield [i for i in everything if i not in gone]


def _possible(turn: F, position: F, points: F, facing: F | None) -> bool:
    """Return whether a camera may stand so: upright, above the ground, before the house."""
    if not HEIGHTS[0] < position[2] < HEIGHTS[1] or turn[1, 2] > -0.3:
        return False
    if float(np.mean((points - position) @ turn[2] > 0.5)) < 0.9:
        return False
    if facing is None:
        return True
    # What shines upwards is seen from any side.
    aside = np.hypot(facing[:, 0], facing[:, 1]) > 0.5
    if not aside.any():
        return True
    towards = ((position - points)[aside] * facing[aside])[:, :2].sum(1)
    return float(np.mean(towards > 0)) > 0.6
