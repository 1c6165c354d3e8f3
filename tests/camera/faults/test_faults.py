"""What is wired otherwise, from spots as a camera of OpenCV's sees them; no film is needed here."""

import numpy as np
import pytest

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.evidence.sight import can_see
from lumenmap.camera.faults.dark import dark_faults
from lumenmap.camera.faults.holes import follow
from lumenmap.camera.faults.lights import lights_of
from lumenmap.camera.faults.wiring import wiring_faults
from lumenmap.camera.film.spots import Spots
from lumenmap.camera.lens.found import Found
from lumenmap.camera.lens.shot import Shot
from lumenmap.core.errors import InputError
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.shadow import blocked, occluders
from lumenmap.site import Site
from tests.camera.faults.traces import explained, filmed
from tests.camera.houses import house_text, wired
from tests.camera.standing import Standing, Take
from tests.camera.standing import stand as standing
from tests.small_house import WALL

SIZE = (1280, 720)
NONE = Spots(np.zeros(0, int), np.zeros((0, 2)), np.zeros(0))


@pytest.fixture(scope="module")
def sites(tmp_path_factory):
    """Three of the invented houses."""
    out = []
    for number in (0, 1, 6):
        file = tmp_path_factory.mktemp("house") / "house.toml"
        file.write_text(house_text(number))
        out.append(Site.read(file))
    return out


def spotted(site, wires, seed, hidden=0.3, wrong=0.03, off_by=0.0):
    """Spots as a film of these wires shows them, 0.7 px off, some unseen, some mistaken.

    Rails hang ``off_by`` m from where the model has them (one standard deviation).
    """
    rng = np.random.default_rng(seed)
    take = Take(seed=seed, width=SIZE[0], height=SIZE[1])
    camera: Standing = standing(site, take)
    lamps, _ = lamp_places(site)
    for edge in np.unique(site.pixels.edge) if off_by else ():
        lamps[site.pixels.edge == edge] += rng.normal(0, off_by, 3) * (1, 0.3, 1)
    at = camera.project(lamps)
    number, place = [], []
    for span in site.pixels.lines:
        for k, hole in enumerate(wires[span.name][: span.count]):
            if hole is not None:
                number.append(span.first + k)
                place.append(at[hole] + rng.normal(0, 0.7, 2))
    number, place = np.array(number), np.array(place)
    shown = ((place > 5) & (place < (SIZE[0] - 5, SIZE[1] - 5))).all(1)
    for _ in range(6):
        first = int(rng.integers(0, len(number) - 5))
        shown[first : first + int(hidden * len(number) / 6)] = False
    number, place = number[shown], place[shown]
    astray = rng.random(len(number)) < wrong
    place[astray] = rng.uniform((0, 0), SIZE, (int(astray.sum()), 2))
    return Spots(number, place, np.full(len(number), 80.0)), camera


def found(site, wires, seed):
    spots, camera = spotted(site, wires, seed)
    films, wired_ = explained(site, spots)
    off = np.linalg.norm(films[0].shot.position - camera.position)
    return wiring_faults(site, films, wired_), off


@pytest.mark.parametrize(
    ("fault", "which"),
    [
        ("reversed", 2),
        ("swapped", 1),
        ("order", 0),
        ("too many", 0),
        ("too few", 0),
        ("too few", 2),
    ],
)
def test_a_fault_is_found_and_named(sites, fault, which):
    site = sites[which]
    wires, _, _, told = wired(site, fault, np.random.default_rng(40 + which))
    faults, off = found(site, wires, 7 + which)
    assert [f.kind for f in faults] == [fault]
    assert told[1] in faults[0].lines
    if fault == "reversed":
        assert faults[0].edges == (told[2],)
    assert off < 1.0


@pytest.mark.parametrize(("which", "seed"), [(0, 1), (1, 2), (2, 3)])
def test_a_right_house_has_none(sites, which, seed):
    site = sites[which]
    wires, *_ = wired(site, None, np.random.default_rng(0))
    assert found(site, wires, seed)[0] == []


def test_the_change_to_the_house_file_makes_it_right(sites, tmp_path):
    """A reversed edge: the path that is told gives a map on which nothing is wrong."""
    site = sites[0]
    rng = np.random.default_rng(3)
    wires, _, _, told = wired(site, "reversed", rng)
    faults, _ = found(site, wires, 11)
    text = house_text(0)
    begin = text.index("path = ", text.index(f'name = "{told[1]}"'))
    path = "\n".join(faults[0].change[1:])
    text = text[:begin] + path + text[text.index("\n", begin) :]
    (tmp_path / "house.toml").write_text(text)
    mended = Site.read(tmp_path / "house.toml")
    assert len(mended.pixels) == len(site.pixels)
    spots, _ = spotted(site, wires, 12)
    assert wiring_faults(mended, *explained(mended, spots)) == []


def test_where_a_pixel_is_too_many_is_told(sites):
    site = sites[0]
    wires = wired(site, None, np.random.default_rng(0))[0]
    wires["long"][30:30] = [None]
    spots, _ = spotted(site, wires, 5, hidden=0.0)
    (fault,) = wiring_faults(site, *explained(site, spots))
    assert fault.kind == "too many"
    number = int(fault.words.split("about pixel ")[1].split(",")[0])
    assert abs(number - 32) <= 2


def test_a_pixel_too_few_is_found_round_a_corner_that_is_hidden(tmp_path):
    """Past the peak of a gable the next hole is another way than along the edge; the pixels on one
    side of the peak alone don't tell, since the camera follows them."""
    (tmp_path / "house.toml").write_text(house_text(9))
    site = Site.read(tmp_path / "house.toml")
    hidden = [*range(7, 14), *range(16, 34), *range(65, 92), *range(109, 170)]
    found = []
    for seed in (1, 12, 17, 23):
        wires = wired(site, None, np.random.default_rng(0))[0]
        del wires["gable"][32]  # the peak is at 36
        spots, _ = spotted(site, wires, seed, hidden=0.0, off_by=0.02)
        found += wiring_faults(site, *explained(site, without(spots, hidden)))
    assert [f.kind for f in found] == ["too few"] * 4
    assert all("between pixels 16 and 35, which the film doesn't show" in f.words for f in found)


def test_the_cheapest_way_through_the_holes():
    """Twenty pixels: 0 to 9 where they should be, 10 to 19 backwards from hole 50."""
    big = np.ones((20, 60))
    for n in range(20):
        big[n, n if n < 10 else 50 - (n - 10)] = 0
    big[[3, 14]] = 0
    first, second = follow(big[None], 0)
    assert (first.first, first.last, first.hole, first.step) == (0, 9, 0, 1)
    assert (second.first, second.last, second.hole, second.step) == (10, 19, 50, -1)
    assert second.holes == (41, 50)
    assert 3 not in first.shown
    assert len(first.shown) == 9


def test_four_pixels_show_that_a_line_goes_on_elsewhere():
    """Of twenty pixels the last four are seen, backwards from hole 50; two would be chance."""
    for shown, pieces in ((4, 2), (2, 1)):
        cost = np.zeros((20, 60))
        at = [*range(6), *range(20 - shown, 20)]
        cost[at] = 1
        for n in at:
            cost[n, n if n < 6 else 50 - (n - 10)] = 0.1
        assert len(follow(cost[None], 0)) == pieces


def test_two_films_show_together_that_a_line_goes_on_elsewhere():
    """Each shows two of the last four pixels there, which alone would be chance; and a film that
    shows them in their own holes speaks against it."""
    costs = np.zeros((3, 20, 60))
    for film, numbers in enumerate(([16, 18], [17, 19], [16, 17, 18, 19])):
        at = [*range(6), *numbers]
        costs[film, at] = 1
        for n in at:
            elsewhere = n >= 6 and film < 2
            costs[film, n, 50 - (n - 10) if elsewhere else n] = 0.1
    assert len(follow(costs[:1], 0)) == len(follow(costs[1:2], 0)) == 1
    _, last = follow(costs[:2], 0)
    assert (last.shift, last.step, last.shown) == (60, -1, (16, 17, 18, 19))
    assert len(follow(costs, 0)) == 1


def test_a_house_with_one_straight_edge_is_told_how_to_film(tmp_path):
    (tmp_path / "house.toml").write_text(WALL)
    site = Site.read(tmp_path / "house.toml")
    number = np.arange(0, len(site.pixels), 8)
    spots = Spots(number, np.stack([100 + 2.0 * number, 200 + 0.1 * number], 1), number + 50.0)
    with pytest.raises(
        InputError, match="lie on one line.*film from where a gable or another edge"
    ):
        explained(site, spots)


def test_few_spots_are_not_enough(sites):
    spots = Spots(np.arange(5), np.zeros((5, 2)), np.ones(5))
    with pytest.raises(InputError, match="only 5 pixels could be told apart"):
        explained(sites[0], spots)


def without(spots, numbers):
    kept = ~np.isin(spots.number, numbers)
    return Spots(spots.number[kept], spots.place[kept], spots.strength[kept])


def test_single_dark_pixels_are_told_and_stretches_are_not(sites):
    """A pixel or two between lit ones are dead; three or more in a row are behind a tree."""
    site = sites[0]
    wires = wired(site, None, np.random.default_rng(0))[0]
    spots, _ = spotted(site, wires, 5, hidden=0.0, wrong=0.0)
    spots = without(spots, [12, 40, 41, 42, 70, 71, *range(90, 100)])
    (first, second) = dark_faults(site, lights_of(site, *explained(site, spots)))
    assert (first.kind, first.lines, first.pixels) == ("dark", ("gable",), (12,))
    assert second.pixels == (70, 71)
    assert "dead = [9, 10]" in second.change[0]


def test_data_that_stops_is_told(sites):
    site = sites[0]
    wires = wired(site, None, np.random.default_rng(0))[0]
    spots, _ = spotted(site, wires, 5, hidden=0.0, wrong=0.0)
    spots = without(spots, range(62 + 80, 226))
    (fault,) = dark_faults(site, lights_of(site, *explained(site, spots)))
    assert (fault.kind, fault.lines) == ("stops", ("long",))
    assert "after pixel 80" in fault.words
    assert "unplug the supply first" in fault.change[0]


def test_a_tree_before_the_end_of_a_line_is_not_called_a_stop(sites):
    """The whole right side of a gable, 31 pixels, may be behind one."""
    site = sites[0]
    wires = wired(site, None, np.random.default_rng(0))[0]
    spots, _ = spotted(site, wires, 5, hidden=0.0, wrong=0.0)
    spots = without(spots, range(31, 62))
    assert dark_faults(site, lights_of(site, *explained(site, spots))) == []


@pytest.mark.parametrize("which", [0, 2])
@pytest.mark.parametrize("off", [(0.2, 0), (-0.2, 0), (0, 0.2), (0, -0.2)])
def test_a_pixel_behind_an_edge_is_not_expected_from_near_the_camera(sites, which, off):
    """The camera is found a hand's breadth off; a pixel just behind the wing isn't called dark."""
    site = sites[which]
    camera: Standing = standing(site, Take(seed=1, width=SIZE[0], height=SIZE[1]))
    lamps, facing = lamp_places(site)
    shades = occluders(scene(site.house, Look(trees=False)))
    hidden = blocked(camera.position[None], lamps + 0.05 * facing, shades, 0.12)[0]
    middle = (SIZE[0] / 2, SIZE[1] / 2)
    place = camera.position + np.array(off) @ camera.turn[:2]
    shot = Shot(place, camera.turn, float(camera.matrix[0, 0]), middle, SIZE)
    found = Found(shot, np.zeros((0, 2)), np.zeros(0, bool), 0.0)
    visible = can_see(site, Evidence.of("film", filmed(NONE), found, site))
    assert hidden.any()
    assert not (visible & hidden).any()
    assert visible.sum() > 0.5 * len(lamps)
