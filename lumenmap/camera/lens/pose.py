"""`find_shot`: where a camera stood, from points of the house and where they are in its photograph.

Strategy: the focal length is scanned; for each, small sets of points give a pose in closed form
(Terzakis and Lourakis, "A consistently fast and globally optimal solution to the
perspective-n-point problem", 2020 [P], as OpenCV has it), and the best few of all are refined
together with focal length and distortion under a loss that wrong points can't pull. What is known
beforehand joins in as weak residuals: a lens's usual focal length and distortion, that cameras are
held nearly level, and about as high as a person's eyes.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.extra import opencv
from lumenmap.camera.lens.shot import FULL_FRAME, Shot, bent
from lumenmap.core.errors import InputError

F = NDArray[np.float64]
B = NDArray[np.bool_]

#: Fewest points: six for the pose, one for the focal length, in pairs of coordinates; one more, so
#: that a residual is left.
FEWEST = 5
#: Focal lengths tried, mm on full frame: ultra-wide to short telephoto lenses of phones.
LENSES = (13, 17, 20, 23, 26, 30, 35, 42, 52, 66, 85)
#: What is usual: a phone's main lens and how far others are from it, as a factor [C].
USUAL_LENS, OTHER_LENSES = 27.0, 1.6
#: How far off a focal length may be that a photograph's file gives [C].
GIVEN_LENS = 1.04
#: How much of distortion phones leave in pictures: k1, k2 [C].
DISTORTION = (0.06, 0.02)
#: How level a camera is held (rad), and how high (m), with how far others are from it [C].
ROLL = math.radians(4)
EYE, OTHER_EYES = 1.6, 1.2
#: Nothing else is taken for a camera's height (m): under the ground, or on another roof.
HEIGHTS = (-3.0, 30.0)
#: More points than this are sampled, so many times, in place of trying every set.
MANY, SAMPLES = 14, 400
#: Candidates that are refined.
REFINED = 4


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A camera and how well it fits.

    Attributes
    ----------
    shot
        The camera.
    offsets
        (K, 2) from where it projects each point to where the photograph shows it, in pixels.
    right
        (K,) whether a point fits.
    cost
        Robust cost per point; lower is better.
    """

    shot: Shot
    offsets: F
    right: B
    cost: float

    @property
    def residuals(self) -> F:
        """(K,) distances in pixels."""
        return np.asarray(np.linalg.norm(self.offsets, axis=1))


@dataclass(frozen=True, slots=True)
class Search:
    """How a camera is looked for.

    Attributes
    ----------
    size
        Width and height of the photograph.
    lens
        Focal length in mm on full frame if the photograph says it.
    noise
        How far a right point may be off, in pixels (one standard deviation).
    distortion
        Whether the lens's distortion is found too.
    seed
        Chooses the samples.
    """

    size: tuple[int, int]
    lens: float | None = None
    noise: float = 2.0
    distortion: bool = True
    seed: int = 1

    @property
    def focals(self) -> list[float]:
        """Focal lengths to try, in pixels."""
        lenses = LENSES if self.lens is None else (self.lens,)
        return [lens * max(self.size) / FULL_FRAME for lens in lenses]


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
            f"{len(points)} points are too few to find the camera; mark {FEWEST} or more"
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
                    (_rough(shot, points, places, search.noise), len(candidates), shot)
                )
    if not candidates:
        raise InputError("no camera sees the points where they are marked; check their names")
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


def _rough(shot: Shot, points: F, places: F, noise: float) -> float:
    at, depth = shot.project(points)
    square = ((at - places) ** 2).sum(1) / (4 * noise) ** 2
    return float(np.where(depth > 0, np.log1p(square), 20.0).mean())


def refine(start: Shot, points: F, places: F, search: Search) -> Found:
    """Return the camera near ``start`` that fits best, with focal length and distortion."""
    from scipy.optimize import least_squares

    fixed = _Unknowns(start, points, places, search)
    scale = 1.5
    sharp = least_squares(
        fixed.residuals, fixed.start, loss=_robust(scale, len(points)), x_scale="jac"
    )
    shot = fixed.shot(sharp.x)
    at, depth = shot.project(points)
    offsets = places - at
    size = np.linalg.norm(offsets, axis=1)
    # The median of Rayleigh's distribution is 1.18 of its standard deviation in each coordinate.
    usual = max(search.noise, float(np.median(size)) / 1.18)
    right = (size < 4.0 * usual) & (depth > 0)
    return Found(shot, offsets, right, _rough(shot, points, places, search.noise))


def _robust(scale: float, count: int) -> Any:
    """Return Cauchy's loss for the points' residuals; those of what is usual are squared."""

    def loss(square: F) -> F:
        out = np.stack([square, np.ones_like(square), np.zeros_like(square)])
        s = square[: 2 * count] / scale**2
        # Both coordinates of a point count as one distance.
        both = np.repeat(s.reshape(-1, 2).sum(1), 2)
        out[0, : 2 * count] = scale**2 * np.log1p(both) / 2
        out[1, : 2 * count] = 1 / (1 + both)
        return out

    return loss


def slopes(shot: Shot, points: F) -> tuple[F, F]:
    """Return how places move with the camera: (2 K, 9) pixels, and (5, 9) what is usual of it.

    By rotation, position, log of the focal length, k1 and k2; the second are residuals in standard
    deviations.
    """
    start = _Unknowns(shot, points, shot.project(points)[0], Search(shot.size, noise=1.0))
    start.start[7:] = shot.radial
    zero = start.residuals(start.start)
    columns = []
    for k in range(len(start.start)):
        step = np.zeros(len(start.start))
        step[k] = 1e-6
        columns.append((start.residuals(start.start + step) - zero) / 1e-6)
    found = np.stack(columns, axis=1)
    return found[: 2 * len(points)], found[2 * len(points) :]


class _Unknowns:
    """Rotation vector, position, log of the focal length, k1 and k2, as one vector."""

    def __init__(self, start: Shot, points: F, places: F, search: Search) -> None:
        self.base, self.points, self.places, self.search = start, points, places, search
        self.start = np.zeros(9 if search.distortion else 7)
        self.start[3:6] = start.position
        self.start[6] = math.log(start.focal)
        usual, spread = (
            (USUAL_LENS, OTHER_LENSES) if search.lens is None else (search.lens, GIVEN_LENS)
        )
        self._lens = math.log(usual * max(search.size) / FULL_FRAME), math.log(spread)

    def shot(self, x: F) -> Shot:
        turn = rotation(x[:3]) @ self.base.turn
        radial = (float(x[7]), float(x[8])) if len(x) > 7 else (0.0, 0.0)
        focal = math.exp(float(np.clip(x[6], 2.0, 14.0)))
        return Shot(x[3:6].copy(), turn, focal, self.base.centre, self.base.size, radial)

    def residuals(self, x: F) -> F:
        shot = self.shot(x)
        seen = (self.points - shot.position) @ shot.turn.T
        flat = seen[:, :2] / np.maximum(seen[:, 2:], 0.1)
        at = shot.focal * bent(flat, shot.radial) + np.asarray(shot.centre)
        off = ((at - self.places) / self.search.noise).ravel()
        usual = [
            (math.log(shot.focal) - self._lens[0]) / self._lens[1],
            float(shot.turn[0, 2]) / ROLL,
            (float(shot.position[2]) - EYE) / OTHER_EYES,
        ]
        if len(x) > 7:
            usual += [shot.radial[0] / DISTORTION[0], shot.radial[1] / DISTORTION[1]]
        return np.concatenate([off, usual])


def rotation(vector: F) -> F:
    """Return the rotation (3, 3) by a vector's length (rad) round its direction (Rodrigues)."""
    size = float(np.linalg.norm(vector))
    if size < 1e-12:
        return np.eye(3)
    x, y, z = vector / size
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.asarray(np.eye(3) + math.sin(size) * cross + (1 - math.cos(size)) * cross @ cross)
