"""Names of places on a house, with a show's own groups and routes; routes cut into equal parts."""

import itertools
import json

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from lumenmap.core.errors import InputError
from lumenmap.pixels.build import map_pixels
from lumenmap.pixels.places import Places
from lumenmap.pixels.tour import tour
from lumenmap.routes.route import AROUND, Route, Stretch
from lumenmap.sheets.plans.mapping import mapping
from tests.small_house import HOUSE

FRONT = ("main/rake-left", "main/rake-right")


@pytest.fixture
def house(load):
    return load(add='[group]\nfront-gable = ["main/rake-*"]\n')


@pytest.fixture
def places(house):
    lists = {
        "left half": ["front 1-40"],
        "both": ["left half", "main/rake-right"],
        "front-gable": ["main/rake-left"],  # the show's own comes before the house's
        "odd": ["main/rake-lft"],
        "loop": ["both", "pool"],
        "pool": ["loop"],
    }
    groups = {name: (of, []) for name, of in lists.items()}
    groups["rest"] = ([], ["left half"])
    groups["lower right"] = (["both"], ["front 1-100"])
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
    assert_array_equal(places.mask(["rest"]), ~first)
    assert_array_equal(places.mask(["lower right"]), right & (np.arange(len(pixels)) >= 100))


@pytest.mark.parametrize(
    ("names", "says", "key"),
    [
        (["both", "bth"], 'no place "bth"; did you mean "both"', "item 2"),
        (["ovr"], 'no place "ovr"; did you mean "over"', "item 1"),
        (["odd"], 'no place "main/rake-lft"; did you mean "main/rake-left"', "group.odd"),
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


def test_the_map_tells_how_long_the_ways_are(tmp_path):
    """As a table, and for programs with the edges in order; a house's own routes too."""
    file = tmp_path / "house.toml"
    route = '[[route]]\nname = "down"\nedges = ["main/rake-right"]\n'
    file.write_text(HOUSE.replace("[[supply]]", f"{route}[[supply]]", 1))
    found = mapping(file)
    assert "  route round: 31 ft 3 in, 124 pixels" in found.table()
    assert "  route down: 15 ft 7 1/2 in, 62 pixels" in found.table()
    told = json.loads(found.json())["routes"]
    assert told["round"]["edges"] == ["main/rake-left", "main/rake-right"]
    assert told["down"]["length"] == pytest.approx(15.625, abs=0.01)
    file.write_text(
        HOUSE.replace("[[supply]]", f"{route.replace('rake-right', 'ridge')}[[supply]]")
    )
    with pytest.raises(
        InputError, match=r'route "down", edges item 1: edge "main/ridge" has no pixels'
    ):
        mapping(file).table()


def test_a_tour_is_within_a_tenth_of_the_shortest_of_all():
    """Against all orders and directions of six stretches, ten times at random."""
    found, best = [], []
    for seed in range(10):
        rng = np.random.default_rng(seed)
        start = rng.uniform(0, 20, (6, 3))
        ends = np.stack([start, start + rng.normal(0, 4, (6, 3))], axis=1)

        def length(order, back, ends=ends):
            side = np.asarray(back, int)
            enter, leave = ends[order, side], ends[order, 1 - side]
            return np.linalg.norm(leave - np.roll(enter, -1, axis=0), axis=1).sum()

        walked = tour(list(ends))
        found.append(length([i for i, _ in walked], [b for _, b in walked]))
        ways = list(itertools.product([0, 1], repeat=6))
        orders = [[0, *rest] for rest in itertools.permutations(range(1, 6))]
        best.append(min(length(order, back) for order in orders for back in ways))
    assert (np.array(found) >= np.array(best) - 1e-5).all()
    assert np.mean(np.array(found) / best) < 1.02
    assert np.max(np.array(found) / best) < 1.1


@pytest.mark.parametrize("seed", range(8))
def test_a_roofline_in_one_piece_is_walked_in_one_piece(seed):
    """Forty stretches that join end to end, shuffled and turned: no gap but from end to start."""
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.normal(0, 4, (41, 3)), axis=0)
    whole = [points[i : i + 2] for i in range(40)]
    shuffled = [whole[i][:: rng.choice([1, -1])] for i in rng.permutation(40)]
    walked = [shuffled[i][:: -1 if back else 1] for i, back in tour(shuffled)]
    pairs = zip(walked, walked[1:] + walked[:1], strict=True)
    gaps = [float(np.linalg.norm(b[0] - a[-1])) for a, b in pairs]
    assert sum(gaps) == pytest.approx(np.linalg.norm(points[-1] - points[0]))
