"""From where to film again what a film doesn't show, on an invented house with a wing."""

from dataclasses import replace

import numpy as np
import pytest

from lumenmap.camera.evidence.sight import best_side, better_place, can_see
from lumenmap.camera.faults.diagnose import Diagnosis
from lumenmap.camera.faults.report import report_lines
from lumenmap.site import Site
from tests.camera.faults.pairs import with_back
from tests.camera.faults.traces import explained, house, trace
from tests.camera.houses import wired


@pytest.fixture(scope="module")
def filmed():
    """A house whose wing hides part of its eave from a camera on the wing's side; all else shows."""
    site = house(1)
    wires = wired(site, None, np.random.default_rng(1))[0]
    spots = trace(site, wires, 1, hidden=0.0)
    unseen = np.setdiff1d(np.arange(len(site.pixels)), spots.number)
    (film,), _ = explained(site, spots)
    return site, film, unseen.tolist()


def told(site, film, unseen):
    none = np.zeros((1, len(site.pixels)), bool)
    return report_lines(site, Diagnosis((film,), None, (), none, none, tuple(unseen)))[-1]


def test_what_the_wing_hides_is_in_sight_from_the_other_side(filmed):
    site, film, unseen = filmed
    camera = film.shot.position
    eave = site.pixels.xyz[unseen].mean(0)
    wing = site.pixels.xyz[site.pixels.lines[0].slice].mean(0)
    place = better_place(site, [film.shot], unseen)
    # The eave, the wing and the camera are in a row: the eave shows from its own side of the wing.
    assert np.sign(place.right) == np.sign(eave[0] - wing[0])
    assert np.linalg.norm(eave - camera) > np.linalg.norm(wing - camera)
    assert place.seen > 0.9 * len(unseen)
    side = "right" if place.right > 0 else "left"
    assert f"about {abs(place.right):.0f} m further to the {side}" in told(site, film, unseen)


def test_what_a_tree_hides_is_not_promised_from_elsewhere(filmed):
    site, film, unseen = filmed
    behind = [n for n in range(40) if n not in unseen]
    assert better_place(site, [film.shot], behind).right == 0
    assert "something stands in front of them" in told(site, film, behind)


def test_what_is_at_the_back_is_on_another_side(filmed):
    site, film, _ = filmed
    shot = film.shot
    turned = np.diag([-1.0, -1.0, 1.0])  # the same camera behind the house
    middle = site.pixels.xyz.mean(0)
    back = type(shot)(
        middle + (shot.position - middle) @ turned,
        shot.turn @ turned,
        shot.focal,
        shot.centre,
        shot.size,
    )
    found = replace(film.found, shot=back)
    other = replace(film, found=found)
    assert "film the house from the street too: 18 of 18 should" in told(site, other, range(62, 80))


def test_the_side_to_film_from_is_named():
    """The line round the back of a house, which a camera in the street doesn't show."""
    site = with_back(1)
    wires = wired(site, None, np.random.default_rng(1))[0]
    (film,), _ = explained(site, trace(site, wires, 1, hidden=0.0))
    back = site.pixels.lines[2]
    behind = range(back.first, back.first + back.count)
    assert best_side(site, film.shot, behind) == ("from behind", back.count)
    assert "film the house from behind too: 200 of 200 should" in told(site, film, behind)


def test_where_a_camera_stood_is_told_as_it_is_found(filmed):
    site, film, _ = filmed
    none = np.zeros((1, len(site.pixels)), bool)

    def stood(x, y):
        shot = replace(film.shot, position=np.array([x, y, 1.62]))
        own = replace(film, found=replace(film.found, shot=shot))
        return report_lines(site, Diagnosis((own,), None, (), none, none, ()))[1]

    assert stood(-2.13, -14.28) == (
        "The camera stood 14.3 m in front of the house's origin, 2.1 m to its left, 1.6 m high."
    )
    assert "20.0 m behind the house's origin, 3.0 m to its right" in stood(3.0, 20.0)


def test_pixels_that_run_together_in_the_film_are_not_in_sight(examples):
    """All of a gable that was seen end-on were, and something stood in front of them, it said."""
    site = Site.read(examples / "kelder-studio" / "house.toml")
    wires = {s.name: list(range(s.first, s.first + s.count)) for s in site.pixels.lines}
    spots = trace(site, wires, 5, hidden=0.0, reflections=0)
    (film,), _ = explained(site, spots)
    near = np.append(np.linalg.norm(np.diff(film.seen.places, axis=0), axis=1) < 0.35, False)
    assert near.sum() > 30
    assert not can_see(site, film)[near].any()
    together = np.flatnonzero(near).tolist()
    assert "should be in sight from there" in told(site, film, together)
