"""Shadows and the light of lamps: the loops in C against those in numpy, shapely, photometry."""

import shutil

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from lumenmap.pictures.inner import Outlines
from lumenmap.pictures.inner import light_plain as plain

if shutil.which("cc"):
    from lumenmap.pictures.inner import light_compiled as compiled
else:
    compiled = pytest.importorskip(
        "lumenmap.pictures.inner.light_compiled",
        reason="lumenmap was installed without a C compiler",
        exc_type=ImportError,
    )


def star(rng, corners):
    """The corners of an outline, which may be hollow."""
    turn = np.sort(rng.random(corners)) * 2 * np.pi
    away = rng.uniform(0.5, 3, corners)
    return np.stack([away * np.cos(turn), away * np.sin(turn)], axis=1) + rng.normal(0, 1, 2)


def faces(rng, count):
    """Flat faces anywhere within a few metres."""
    planes, axes, outlines = [], [], []
    for _ in range(count):
        normal = rng.normal(size=3)
        normal /= np.linalg.norm(normal)
        planes.append([*normal, rng.normal()])
        axes.append(np.delete(np.arange(3), np.argmax(np.abs(normal))))
        outlines.append(star(rng, int(rng.integers(3, 9))))
    return Outlines(
        np.array(planes).reshape(-1, 4),
        rng.choice([0.02, 0.06], count),
        np.array(axes, np.int64).reshape(-1, 2),
        np.cumsum([0, *map(len, outlines)], dtype=np.int64),
        np.concatenate([np.zeros((0, 2)), *outlines]),
    )


@given(st.integers(0, 1 << 30), st.integers(3, 12))
@settings(max_examples=60, deadline=None)
def test_what_is_within_an_outline_is_so_for_shapely(seed, corners):
    rng = np.random.default_rng(seed)
    outline, (x, y) = star(rng, corners), rng.normal(0, 2, (2, 500))
    found = compiled.within(x, y, outline)
    assert (found == plain.within(x, y, outline)).all()
    polygon = shapely.Polygon(outline)
    if polygon.is_valid:
        assert (found == shapely.contains_xy(polygon, x, y)).all()


@given(st.integers(0, 1 << 30), st.integers(0, 6), st.integers(0, 40), st.integers(0, 30))
@settings(max_examples=60, deadline=None)
def test_both_find_the_same_in_the_way(seed, count, points, lamps):
    rng = np.random.default_rng(seed)
    shades = faces(rng, count)
    starts, stops = (rng.normal(0, 2, (n, 3)) for n in (points, lamps))
    blocked = compiled.blocked(starts, stops, shades)
    assert (blocked == plain.blocked(starts, stops, shades)).all()
    pairs = np.nonzero(np.ones((points, lamps)))
    found = compiled.apart(starts, stops, pairs, shades)
    assert (found == plain.apart(starts, stops, pairs, shades)).all()
    # One counts in 32 bits, the other in 64.
    assert (found == blocked.ravel()).mean() > 0.98 if len(found) else True


@given(st.integers(0, 1 << 30), st.integers(0, 6), st.integers(0, 60))
@settings(max_examples=60, deadline=None)
def test_both_find_the_same_in_the_sun(seed, count, points):
    """And what is in the shade has something between it and a point far away."""
    rng = np.random.default_rng(seed)
    shades, starts = faces(rng, count), rng.normal(0, 2, (points, 3))
    normals, (towards,) = rng.normal(0, 1, (points, 3)), rng.normal(0, 1, (1, 3))
    towards /= np.linalg.norm(towards)
    found = compiled.sunlit(starts, normals, towards, shades, (0.06, 60.0))
    assert (found == plain.sunlit(starts, normals, towards, shades, (0.06, 60.0))).all()
    every = np.arange(points), np.arange(points)
    shades = shades._replace(margins=np.full(count, 0.06))
    behind = compiled.apart(starts, starts + 40 * towards, every, shades)
    assert (found == (~behind & (normals @ towards > 0))).mean() > 0.9 if points > 20 else True


@given(st.integers(0, 1 << 30), st.integers(1, 30), st.integers(1, 40))
@settings(max_examples=60, deadline=None)
def test_both_give_the_light_that_photometry_gives(seed, points, lamps):
    """E = I cos φ / d², each term written out here in 64 bits."""
    rng = np.random.default_rng(seed)
    at, towards = rng.normal(0, 2, (2, points, 3))
    places, ahead = rng.normal(0, 2, (2, lamps, 3))
    towards /= np.linalg.norm(towards, axis=1, keepdims=True)
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    lit = rng.random(lamps)
    starts = np.flatnonzero(np.r_[True, rng.random(lamps - 1) < 0.4]).astype(np.int64)
    dark = rng.random((points, lamps)) < 0.3
    way = places[None] - at[:, None]
    far = np.maximum(np.linalg.norm(way, axis=-1), 0.02)
    onto = np.maximum((way * towards[:, None]).sum(-1) / far, 0)
    cosine = -(way * ahead).sum(-1) / far
    beam = np.where(cosine >= 0, 0.25 + 0.75 * cosine, 0.25 * (1 + 2 * cosine)).clip(0)
    each = np.where(dark, 0, lit * beam * onto / far**2)
    true = np.add.reduceat(each, starts, axis=1)
    packed = np.concatenate([places.T, ahead.T, lit[None]]).astype(np.float32)
    given_ = at.astype(np.float32), towards.astype(np.float32), packed, starts
    for module in (plain, compiled):
        got = module.shine(*given_, dark, (0.25, -0.5))
        assert np.allclose(got, true, rtol=2e-3, atol=2e-4 * (1 + true.max()))
    alone = [module.shine(*given_, None, (0.25, -0.5)) for module in (plain, compiled)]
    assert np.allclose(*alone, rtol=2e-3, atol=1e-3 * alone[0].max() + 1e-6)


@pytest.mark.parametrize("module", [plain, compiled])
def test_a_lamp_closer_than_two_centimetres_is_no_brighter_than_there(module):
    lamps = np.array([[0, 0, 0.005, 0, 0, -1, 1]], np.float32).T
    up, start = np.array([[0, 0, 1]], np.float32), np.array([0])
    light = module.shine(np.zeros((1, 3), np.float32), up, lamps, start, None, (0.25, -0.5))
    # Of cos φ, d is clamped, too; and so is that of the beam: 0.25 + 0.75 · 0.005 / 0.02.
    assert light[0, 0] == pytest.approx(0.005 / 0.02 / 0.02**2 * (0.25 + 0.75 / 4), rel=1e-4)


@pytest.mark.parametrize("module", [plain, compiled])
def test_a_face_further_than_shadows_reach_throws_none(module):
    """A square metre over a point, in the light from straight above, 3 m and 9 m away."""
    square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], float)
    at, up = np.zeros((1, 3)), np.array([[0.0, 0, 1]])
    for height, lit in ((0.05, True), (3, False), (5.9, False), (9, True)):
        over = Outlines(
            np.array([[0, 0, 1.0, height]]), np.array([0.06]), np.array([[0, 1]]),
            np.array([0, 4]), square,
        )  # fmt: skip
        assert module.sunlit(at, up, up[0], over, (0.06, 6.0)).tolist() == [lit]


def test_arrays_that_do_not_fit_are_refused():
    loops, shades = compiled._loops, faces(np.random.default_rng(1), 3)
    at, none = np.zeros((4, 3)), np.zeros(0, np.int64)
    wrong = (
        shades._replace(axes=shades.axes + 3),
        shades._replace(ends=shades.ends[::-1].copy()),
        shades._replace(corners=shades.corners[:-1]),
        shades._replace(planes=shades.planes[:-1]),
    )
    for given_ in wrong:
        with pytest.raises(ValueError, match="outlines: arrays that don't fit"):
            compiled.blocked(at, at, given_)
    with pytest.raises(ValueError, match="blocked: arrays"):
        loops.blocked(at, at, shades, np.zeros(15, bool))
    for pairs in (([4], [0]), ([0], [4]), ([-1], [0])):
        with pytest.raises(ValueError, match="apart: arrays"):
            compiled.apart(at, at, tuple(map(np.array, pairs)), shades)
    with pytest.raises(ValueError, match="sunlit: arrays"):
        compiled.sunlit(at, at[:3], at[0], shades, (0.1, 9.0))
    with pytest.raises(ValueError, match="within: arrays"):
        compiled.within(at[0], at[0], np.zeros((0, 2)))
    points, lamps = np.zeros((4, 3), np.float32), np.zeros((7, 5), np.float32)
    for starts in (none, np.array([1]), np.array([0, 5]), np.array([0, 2, 2])):
        with pytest.raises(ValueError, match="shine: arrays"):
            compiled.shine(points, points, lamps, starts, None, (0.25, -0.5))
    with pytest.raises(ValueError, match="shine: arrays"):
        compiled.shine(points, points, lamps, none[:0], np.zeros((4, 4), bool), (0.25, -0.5))
