"""Films of another house, or mirrored, in which a camera is found nevertheless."""

import numpy as np
import pytest

from lumenmap.camera.faults.diagnose import diagnose
from lumenmap.camera.faults.report import report_data, report_lines
from lumenmap.camera.film.spots import Spots
from lumenmap.site import Site
from tests.camera.faults.traces import SIZE, filmed, house, trace
from tests.camera.houses import wired


def spots_of(site, fault=None, seed=4):
    wires, dark, _, _ = wired(site, fault, np.random.default_rng(seed))
    return trace(site, wires, seed, dark=dark)


def judged(site, spots):
    return diagnose(site, {"street.mp4": filmed(spots)})


@pytest.fixture(scope="module")
def studio(examples):
    return Site.read(examples / "kelder-studio" / "house.toml")


def test_a_film_of_another_house_is_not_all_right(studio):
    """Two in three of its pixels were nowhere near, and the report was of faults of the wiring."""
    spots = spots_of(house(2))
    ours = spots.number < len(studio.pixels)
    spots = Spots(spots.number[ours], spots.place[ours], spots.strength[ours])
    found = judged(studio, spots)
    assert not found.right
    (said,) = found.doubts
    assert "pixels that blink in street.mp4 are where this house may have them" in said
    assert said in report_lines(studio, found)
    assert report_data(studio, found)["doubts"] == [said]


def test_a_mirrored_film_is_not_all_right(studio):
    """The camera looked through the house: 135 pixels "of 108 that this camera could see"."""
    wires = {s.name: list(range(s.first, s.first + s.count)) for s in studio.pixels.lines}
    spots = trace(studio, wires, 5, bearing=0.15, hidden=0.0)
    assert not judged(studio, spots).doubts
    spots = Spots(spots.number, spots.place * (-1, 1) + (SIZE[0], 0), spots.strength)
    found = judged(studio, spots)
    assert "from which the house itself would hide" in found.doubts[0]
    assert not found.right


@pytest.mark.parametrize("fault", [None, "reversed"])
def test_a_film_of_this_house_is_one_however_it_is_wired(fault):
    assert not judged(house(4), spots_of(house(4), fault)).doubts
