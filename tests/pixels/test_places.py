"""Names of places on a house, with a show's own groups and routes; routes cut into equal parts."""

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from lumenmap.core.errors import InputError
from lumenmap.pixels.build import map_pixels
from lumenmap.pixels.places import Places
from lumenmap.pixels.tour import tour
from lumenmap.routes.route import AROUND, Route, Stretch

FRONT = ("main/rake-left", "main/rake-right")


@pytest.fixture
def house(load):
    return load(add='[group]\nfront-gable = ["main/rake-*"]\n')


@pytest.fixture
def places(house):
    groups = {
        "left half": ["front 1-40"],
        "both": ["left half", "main/rake-right"],
        "front-gable": ["main/rake-left"],  # the show's own comes before the house's
        "odd": ["main/rake-lft"],
        "loop": ["both", "pool"],
        "pool": ["loop"],
    }
    routes = {"over": Route(tuple(map(Stretch, FRONT)), name="over")}
    return Places(map_pixels(house), house, groups, routes)


def test_groups_of_a_show_hold_groups_and_come_first(places, house):
    pixels = map_pixels(house)
    left, right = (pixels.edge == pixels.edge_names.index(n) for n in FRONT)
    first = np.arange(len(pixels)) < 40
    assert_array_equal(places.mask(["left half"]), first)
    assert_array_equal(places.mask(["both"]), first | right)
    assert_array_equal(places.mask(["front-gable"]), left)
    assert_array_equal(places.mask(["over"]), left | right)
    assert not places.mask([]).any()


@pytest.mark.parametrize(
    ("names", "says", "key"),
    [
        (["both", "bth"], 'no edge "bth"; did you mean "both"', "item 2"),
        (["ovr"], 'no edge "ovr"; did you mean "over"', "item 1"),
        (["odd"], 'no edge "main/rake-lft"; did you mean "main/rake-left"', "group.odd"),
        (["loop"], "contains itself: loop > pool > loop", "group.loop"),
    ],
)
def test_mistakes_name_the_place_they_are_in(places, names, says, key):
    with pytest.raises(InputError, match=says) as caught:
        places.mask(names)
    assert caught.value.key.startswith(key)


def test_parts_of_a_route_are_equally_long_and_in_its_order(places, house):
    pixels = map_pixels(house)
    laid = places.walk(places.route("along over"))
    assert laid.length == pytest.approx(2 * pixels.edge_length[0])
    parts = laid.parts(4)
    assert_array_equal(np.sum(parts, axis=0), np.ones(len(pixels)))
    left, right = (pixels.edge == pixels.edge_names.index(n) for n in FRONT)
    half = pixels.along_edge < pixels.edge_length / 2
    for part, want in zip(
        parts, [left & half, left & ~half, right & half, right & ~half], strict=True
    ):
        assert_array_equal(part, want)
    assert laid.parts(1)[0].all()


def test_what_isnt_a_route_is_none(places):
    assert places.route("across") is None
    assert places.route(3) is None
    assert places.route("round") is AROUND["round"]


def test_a_stretch_that_is_measured_longer_counts_so(load):
    """The tape has the last word: 24 ft on it are 24 ft of route."""
    text = '[[edge]]\nname = "main/rake-left"\nmeasured = "24 ft"\n'
    house = load(add=text)
    laid = Places(map_pixels(house), house).walk(Route((Stretch("main/rake-left"),)))
    assert laid.length == pytest.approx(24 * 0.3048)


def test_parts_of_edges_that_no_wire_follows_are_gaps(load):
    path = '{ edge = "main/rake-left", stop = "4 ft" }, { jumper = "3 ft" }, '
    path += '{ edge = "main/rake-left", start = "6 ft", stop = "9 ft" }'
    house = load(('"main/rake-left", "main/rake-right"', path))
    places = Places(map_pixels(house), house)
    for stretch in (Stretch("main/rake-left"), Stretch("main/rake-left", reversed=True)):
        assert places.walk(Route((stretch,))).length == pytest.approx(7 * 0.3048)
        counted = places.walk(Route((stretch,), gaps=True))
        assert counted.length == pytest.approx(9 * 0.3048)
        assert np.ptp(counted.metres) > 8 * 0.3048
    part = Route((Stretch("main/rake-left", start=1.0, stop=2.0),))
    assert places.walk(part).length == pytest.approx(1.0 - 2 * 0.3048)


def test_a_tour_finds_the_ring_of_a_shuffled_polygon():
    """Twelve sides of a ring, in any order and direction, come out as the ring; no gap is left."""
    angle = np.arange(13) * np.pi / 6 - 2.2
    ring = np.stack([9 * np.cos(angle), 5 * np.sin(angle), 0 * angle], -1)
    sides = [ring[i : i + 2] for i in range(12)]
    for seed in range(20):
        rng = np.random.default_rng(seed)
        shuffled = [sides[i][:: rng.choice([1, -1])] for i in rng.permutation(12)]
        walked = [shuffled[i][:: -1 if back else 1] for i, back in tour(shuffled)]
        for a, b in zip(walked, walked[1:] + walked[:1], strict=True):
            assert a[1] == pytest.approx(b[0])
        assert (walked[0][0] == pytest.approx(ring[0])) or walked[0][0, 0] < 0
        x, y = np.concatenate(walked)[:, :2].T
        assert np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) > 0  # counter-clockwise


def test_a_front_runs_from_left_to_right():
    """An eave with a gable over it, all in one plane."""
    eave = np.array([[0, 0, 3], [8, 0, 3.0]])
    up, down = np.array([[2, 0, 3], [4, 0, 5.0]]), np.array([[4, 0, 5], [6, 0, 3.0]])
    assert tour([down, up]) == [(1, False), (0, False)]
    assert tour([down, up, eave])[0] == (2, False)
    assert tour([eave[::-1]]) == [(0, True)]
