"""A photograph's camera, held to OpenCV's: projection, distortion, pose from marks."""

import cv2
import numpy as np
import pytest

from lumenmap.camera.lens.found import Search
from lumenmap.camera.lens.pose import find_shot
from lumenmap.camera.lens.refine import _Unknowns, rotation
from lumenmap.camera.lens.shot import Shot, _fold, bent, straight
from lumenmap.camera.marks.points import named_points
from lumenmap.core.errors import InputError
from lumenmap.site import Site

#: A phone's photograph of 12 megapixels.
WIDTH, HEIGHT = 4032, 3024


def standing(rng, lens=26.0, radial=(-0.03, 0.005), size=(WIDTH, HEIGHT)):
    """A camera in the street before a house some 20 m wide: (turn, position, matrix, distortion)."""
    position = np.array([rng.uniform(-6, 10), rng.uniform(-24, -17), rng.uniform(1.3, 1.9)])
    forward = np.array([1.0, 0, 2.6]) + rng.normal(0, 0.4, 3) - position
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0, 0, 1])
    right /= np.linalg.norm(right)
    turn = (
        rotation(rng.normal(0, 0.02) * forward)
        @ np.stack([right, np.cross(forward, right), forward]).T
    )
    focal = lens / 36 * size[0]
    matrix = np.array([[focal, 0, size[0] / 2], [0, focal, size[1] / 2], [0, 0, 1.0]])
    return turn.T, position, matrix, np.array([*radial, 0.0, 0.0])


def seen(points, turn, position, matrix, distortion):
    """Where OpenCV sees points."""
    vector = cv2.Rodrigues(turn)[0]
    at, _ = cv2.projectPoints(np.asarray(points), vector, -turn @ position, matrix, distortion)
    return at[:, 0]


def off(shot, turn, position, middle):
    """Degrees, and the camera's distance from its place as a part of that to the house."""
    cosine = np.clip((np.trace(shot.turn @ turn.T) - 1) / 2, -1, 1)
    away = np.linalg.norm(position - middle)
    return np.degrees(np.arccos(cosine)), np.linalg.norm(shot.position - position) / away


@pytest.fixture(scope="module")
def marlow(examples):
    return Site.read(examples / "marlow-bend/house.toml").house


def spread(points, count):
    """So many points far from each other, as `lumenmap marks` lists them first."""
    chosen = [int(np.argmin(points[:, 0]))]
    while len(chosen) < count:
        near = np.linalg.norm(points[:, None] - points[chosen], axis=2).min(1)
        chosen.append(int(np.argmax(near)))
    return np.array(chosen)


def test_it_projects_as_opencv_does():
    rng = np.random.default_rng(3)
    points = rng.uniform((-8, 0, 0), (10, 8, 6), (200, 3))
    for radial in ((0.0, 0.0), (-0.05, 0.01), (0.03, -0.004)):
        turn, position, matrix, distortion = standing(rng, radial=radial)
        shot = Shot(position, turn, matrix[0, 0], (WIDTH / 2, HEIGHT / 2), (WIDTH, HEIGHT), radial)
        at, depth = shot.project(points)
        assert np.abs(at - seen(points, turn, position, matrix, distortion)).max() < 1e-6
        assert (depth > 0).all()
        # Rays go back through the same places.
        back = shot.rays(at)
        along = points - position
        cosine = (
            (back * along).sum(1) / np.linalg.norm(back, axis=1) / np.linalg.norm(along, axis=1)
        )
        assert cosine.min() > 1 - 1e-10


def test_what_is_bent_is_straight_again_as_opencv_undistorts_it():
    flat = np.random.default_rng(1).uniform(-0.7, 0.7, (300, 2))
    for radial in ((-0.08, 0.01), (0.06, 0.0), (0.0, 0.02)):
        curved = bent(flat, radial)
        assert np.abs(straight(curved, radial) - flat).max() < 1e-9
        ahead = np.hstack([straight(curved, radial), np.ones((300, 1))])
        lens = np.array([*radial, 0, 0])
        other, _ = cv2.projectPoints(ahead, np.zeros(3), np.zeros(3), np.eye(3), lens)
        assert np.abs(other[:, 0] - curved).max() < 1e-9


def test_a_strong_barrel_never_folds_the_picture_back():
    radius = np.linspace(0, 3, 500)
    flat = np.stack([radius, 0 * radius], 1)
    assert (np.diff(bent(flat, (-0.3, 0.0))[:, 0]) > 0).all()


def test_eight_marks_two_pixels_off_give_the_camera(marlow):
    """Within 0.2 degrees and 1 % of the distance, for 11 of 12 cameras; never twice that."""
    rng = np.random.default_rng(11)
    known = np.array([p.xyz for p in named_points(marlow).values()])
    found = []
    for _ in range(12):
        lens = float(rng.choice([24.0, 26.0, 28.0]))
        camera = standing(rng, lens)
        at = seen(known, *camera)
        inside = np.flatnonzero(((at > 0) & (at < (WIDTH, HEIGHT))).all(1))
        eight = inside[spread(known[inside], 8)]
        angle = rng.uniform(0, 2 * np.pi, 8)
        marked = at[eight] + 2 * np.stack([np.cos(angle), np.sin(angle)], 1)
        got = find_shot(known[eight], marked, Search((WIDTH, HEIGHT), lens, noise=2.0))
        assert got.right.all()
        found.append(off(got.shot, camera[0], camera[1], known.mean(0)))
    degrees, part = np.array(found).T
    assert (degrees < 0.2).sum() >= 11
    assert (part < 0.01).sum() >= 11
    assert degrees.max() < 0.4
    assert part.max() < 0.02


def test_the_focal_length_is_found_where_the_file_does_not_say_it(marlow):
    rng = np.random.default_rng(5)
    known = np.array([p.xyz for p in named_points(marlow).values()])
    for lens in (18.0, 27.0, 50.0):
        turn, position, matrix, distortion = standing(rng, lens)
        position = position * (1, lens / 27, 1)
        at = seen(known, turn, position, matrix, distortion)
        got = find_shot(known, at + rng.normal(0, 0.5, at.shape), Search((WIDTH, HEIGHT)))
        assert got.shot.lens == pytest.approx(lens, rel=0.01)


def test_a_third_of_many_points_may_be_wrong(marlow):
    rng = np.random.default_rng(8)
    known = np.array([p.xyz for p in named_points(marlow).values()])
    camera = standing(rng)
    at = seen(known, *camera) + rng.normal(0, 1, (len(known), 2))
    wrong = rng.choice(len(known), len(known) // 3, replace=False)
    at[wrong] += rng.choice([-1, 1], (len(wrong), 2)) * rng.uniform(100, 800, (len(wrong), 2))
    got = find_shot(known, at, Search((WIDTH, HEIGHT)))
    assert not got.right[wrong].any()
    assert got.right.sum() == len(known) - len(wrong)
    assert off(got.shot, camera[0], camera[1], known.mean(0))[1] < 0.005


def test_a_camera_behind_the_house_is_not_believed():
    """Two gables, mirrored: seen from behind, the same picture would fit; but they face the front."""
    x = np.linspace(-4, 4, 41)
    points = np.stack([x, 0 * x, 5 - np.abs(x)], 1)
    points = np.concatenate([points, points + np.array([0, 3, 2])])
    facing = np.tile((0.0, -1.0, 0.0), (len(points), 1))
    rng = np.random.default_rng(2)
    turn, position, matrix, distortion = standing(rng)
    at = seen(points * (-1, 1, 1), turn, position, matrix, distortion)
    try:
        got = find_shot(points, at, Search((WIDTH, HEIGHT)), facing)
    except InputError:
        return
    assert got.shot.position[1] < 0


def test_points_on_one_line_are_refused():
    points = np.stack([np.arange(9.0), np.zeros(9), np.zeros(9)], 1)
    with pytest.raises(InputError, match="all points lie on one line"):
        find_shot(points, points[:, :2] * 100, Search((WIDTH, HEIGHT)))


def test_few_points_are_refused():
    with pytest.raises(InputError, match="4 points can.t tell where the camera stood"):
        find_shot(np.eye(4, 3), np.eye(4, 2), Search((WIDTH, HEIGHT)))


def test_a_photograph_is_flattened(marlow):
    """What OpenCV's remapping by its undistortion gives, away from the edges."""
    rng = np.random.default_rng(4)
    size = (480, 360)
    turn, position, matrix, distortion = standing(rng, size=size, radial=(-0.06, 0.01))
    y, x = np.mgrid[0:360, 0:480]
    photo = (0.5 + 0.4 * np.sin(x / 17) * np.cos(y / 23)).astype(np.float32)
    shot = Shot(position, turn, matrix[0, 0], (240.0, 180.0), size, (-0.06, 0.01))
    flat = shot.flatten(photo)
    # OpenCV counts from the middle of the first pixel.
    own = matrix - np.array([[0, 0, 0.5], [0, 0, 0.5], [0, 0, 0]])
    other = cv2.undistort(photo, own, distortion)
    assert np.abs(flat - other)[20:-20, 20:-20].max() < 0.01


@pytest.mark.parametrize("turned", [0.0, 1e-5, 0.4])
@pytest.mark.parametrize("distortion", [True, False])
def test_the_derivatives_are_those_of_the_residuals(turned, distortion):
    """Against differences, which know no formula; of places, turns, lens and what is usual."""
    rng = np.random.default_rng(3)
    points = rng.uniform((-8, 0, 0), (10, 8, 6), (20, 3))
    turn, position, matrix, lens = standing(rng)
    start = Shot(position, turn, matrix[0, 0], (WIDTH / 2, HEIGHT / 2), (WIDTH, HEIGHT))
    # The camera turns round its own axis, so that the points stay in front of it.
    unknowns = _Unknowns(
        start,
        points,
        seen(points, turn, position, matrix, lens),
        Search((WIDTH, HEIGHT), noise=2.0, distortion=distortion),
    )
    x = unknowns.start.copy()
    x[:3] = turned * np.array([0.1, -0.2, 1.0])
    x[7:] = np.array([-0.03, 0.004])[: len(x) - 7]
    step = 1e-6 * np.eye(len(x))
    slow = np.stack([unknowns.residuals(x + s) - unknowns.residuals(x - s) for s in step], 1) / 2e-6
    assert np.abs(unknowns.slopes(x) - slow).max() < 1e-6 * np.abs(slow).max()
    assert (np.abs(unknowns.slopes(x) - slow) < 1e-4 * np.abs(slow) + 1e-3).all()


@pytest.mark.parametrize("k1", [-0.3, -1e-9, 0.0, 0.2])
@pytest.mark.parametrize("k2", [-0.1, 0.0, 1e-12, 0.05])
def test_where_a_lens_folds_back_is_where_numpy_finds_the_root(k1, k2):
    roots = np.roots([5 * k2, 3 * k1, 1.0])
    real = [r.real for r in roots if abs(r.imag) < 1e-12 and r.real > 0]
    assert _fold(k1, k2) == pytest.approx(min(real, default=np.inf), rel=1e-6)
