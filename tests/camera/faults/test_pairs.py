"""Several films of one house: faults that none shows alone, and what films say against each other.

Houses, cameras and what hides pixels are invented; the cameras are OpenCV's.
"""

from dataclasses import replace

import numpy as np
import pytest

from lumenmap.camera.evidence.pose import pose
from lumenmap.camera.faults.colours import colour_faults
from lumenmap.camera.faults.contradictions import contradictions, hidden
from lumenmap.camera.faults.dark import dark_faults
from lumenmap.camera.faults.diagnose import diagnose
from lumenmap.camera.faults.lights import lights_of
from lumenmap.camera.faults.report import report_data, report_lines
from lumenmap.camera.faults.shown import Shown
from lumenmap.camera.film.spots import Spots
from lumenmap.core.errors import InputError
from tests.camera.faults.pairs import judged, pair
from tests.camera.faults.traces import explained, filmed, house, right, trace
from tests.camera.houses import wired
from tests.camera.standing import Take, stand


def two(number=0, wires=None, **how):
    """The spots of two films of a house, from its left and its right; all else shows."""
    site = house(number)
    wires = wires or wired(site, None, np.random.default_rng(0))[0]
    sides = [
        trace(
            site,
            wires,
            31 + k,
            **{"hidden": 0.0, "reflections": 0, "missed": 0.0, **how},
            bearing=at,
            hung=31,
        )
        for k, at in enumerate((0.4, -0.4))
    ]
    return site, sides


def without(spots, numbers):
    kept = ~np.isin(spots.number, numbers)
    return Spots(spots.number[kept], spots.place[kept], spots.strength[kept])


def only(spots, numbers):
    return without(spots, np.setdiff1d(spots.number, numbers))


def rest(site, numbers):
    """All other pixels of a house."""
    return np.setdiff1d(np.arange(len(site.pixels)), numbers)


def test_one_film_is_a_sequence_of_one():
    site, (left, _) = two()
    found = diagnose(site, {"left.mp4": filmed(left)})
    lines = report_lines(site, found)
    assert lines[0].startswith(f"{found.seen.sum()} pixels were told apart, of ")
    assert lines[1].startswith("The camera stood ")
    assert not any("left.mp4" in line for line in lines)
    assert found.contradictions == ()


def test_right_houses_give_no_alarm_in_pairs():
    """Ten houses from both sides, 60 % of what each camera could see hidden."""
    for seed in range(10):
        site, films, _ = pair(seed, None, seed)
        assert judged(site, *films) == [], seed


def test_each_film_may_have_its_own_size():
    site, (left, right_) = two()
    large = replace(right_, place=1.5 * right_.place)
    film = replace(
        filmed(large),
        dark=np.zeros((1080, 1920, 3), np.float32),
        blinks=np.zeros((4, 1080, 1920), np.float32),
        colours=np.zeros((3, 1080, 1920, 3), np.float32),
    )
    found = diagnose(site, {"left.mp4": filmed(left), "right.mp4": film})
    assert found.faults == ()
    assert found.films[1].shot.size == (1920, 1080)
    assert found.films[0].shot.position[0] < site.pixels.xyz[:, 0].mean()
    assert found.films[1].shot.position[0] > site.pixels.xyz[:, 0].mean()


def test_what_each_film_saw_is_said_and_what_all_did():
    site, (left, right_) = two()
    films = {"left.mp4": filmed(without(left, range(80))), "right.mp4": filmed(right_)}
    found = diagnose(site, films)
    lines = report_lines(site, found)
    own, other = found.seen.sum(1)
    both = found.seen.any(0).sum()
    assert own < other <= both
    assert lines[0].startswith(f"left.mp4: {own} pixels, of ")
    assert "in front of the house's origin" in lines[0]
    assert lines[1].startswith(f"right.mp4: {other} pixels, of ")
    assert lines[2].startswith(f"Together {both} pixels were told apart, of ")
    assert not any('line "gable"' in line for line in lines[3:])  # the other film has it whole
    data = report_data(site, found)
    assert [film["film"] for film in data["films"]] == ["left.mp4", "right.mp4"]
    assert data["films"][0]["seen"] == own
    assert data["seen"] == both
    assert data["films"][1]["camera"][1] < 0


def test_the_place_to_film_next_is_told_by_the_nearest_film():
    """The wing hides part of the eave from both cameras, which stand on the wing's side."""
    site = house(1)
    wires = wired(site, None, np.random.default_rng(1))[0]
    side = np.sign(site.pixels.xyz[0, 0] - site.pixels.xyz[:, 0].mean())
    films = {
        f"{k}.mp4": filmed(trace(site, wires, k, hidden=0.0, bearing=-side * at, hung=1))
        for k, at in enumerate((0.3, 0.5))
    }
    found = diagnose(site, films)
    assert found.unseen
    assert "than in" in report_lines(site, found)[-1]


def test_a_film_of_which_no_camera_is_found_is_named_and_the_rest_counts():
    site, (left, right_) = two()
    films = {"a.mp4": filmed(only(left, range(5))), "b.mp4": filmed(right_)}
    found = diagnose(site, films)
    assert [film.name for film in found.films] == ["b.mp4"]
    assert "a.mp4 isn't used: only 5 pixels could be told apart" in " ".join(
        report_lines(site, found)
    )
    assert report_data(site, found)["not_used"][0]["films"] == ["a.mp4"]
    films["b.mp4"] = films["a.mp4"]
    with pytest.raises(InputError, match=r"a\.mp4: only 5 pixels.*\nb\.mp4: only 5 pixels"):
        diagnose(site, films)


def test_a_film_of_another_house_has_no_camera():
    site, (left, _) = two()
    rng = np.random.default_rng(5)
    place = rng.uniform((0, 0), (1280, 720), (60, 2))
    other = Spots(rng.choice(len(site.pixels), 60, replace=False), place, np.full(60, 80.0))
    as_mapped = np.arange(len(site.pixels))
    with pytest.raises(
        InputError, match="60 pixels blink in it, but this house doesn't look like that"
    ):
        pose(site, "other.mp4", filmed(other), [as_mapped])
    assert pose(site, "left.mp4", filmed(left), [as_mapped]).fits > 0.9 * len(left)


def test_a_pixel_that_another_film_shows_lit_is_not_dark():
    site, (left, right_) = two()
    both = [without(left, [12, 30, *range(40, 52)]), without(right_, [30, 45])]
    films, wiring = explained(site, *both)
    lights = lights_of(site, films, wiring)
    (fault,) = dark_faults(site, lights)
    assert fault.pixels == (30, 45)  # the first film can't tell of 45
    assert contradictions(site, lights, wiring) == []
    (said,) = hidden(site, lights)
    assert said.startswith('Pixel 13 of line "gable" looks dark in film 1, but another film')
    # Something blinks there, though too weakly to be read.
    glimmer = films[0].film.blinks.copy()
    glimmer[30 % len(glimmer)] = 60.0
    dim = replace(films[0], film=replace(films[0].film, blinks=glimmer))
    (fault,) = dark_faults(site, lights_of(site, [dim, films[1]], wiring))
    assert fault.pixels == (45,)


def test_colours_are_told_by_what_all_films_show():
    """Four pixels in each of two films; neither is enough alone."""
    site, spots = two()
    first = site.pixels.lines[1].first
    few = [
        only(s, [*range(first), *range(first + 40 * k, first + 40 * k + 4)])
        for k, s in enumerate(spots, 1)
    ]
    films, wiring = explained(site, *few)

    def shown(film, order):
        colours = np.zeros((3, *film.film.dark.shape), np.float32)
        x, y = np.floor(film.spots.place).astype(int).T
        on_line = film.spots.number >= first
        for k in range(3):
            for dy in (-1, 0, 1):
                colours[k, y + dy, x, np.where(on_line, order[k], k)] = 90
        return replace(film, film=replace(film.film, colours=colours))

    turned = [shown(film, (1, 0, 2)) for film in films]
    assert colour_faults(site, turned[:1], wiring) == []
    (fault,) = colour_faults(site, turned, wiring)
    assert fault.lines == ("long",)
    assert 'order = "GRB"' in fault.change[0]
    # One film against another is said.
    films, wiring = explained(site, *spots)
    against = [shown(films[0], (1, 0, 2)), shown(films[1], (0, 1, 2))]
    assert any(
        'colours of line "long" differ from film to film' in said
        for said in contradictions(site, lights_of(site, against, wiring), wiring)
    )


def test_a_line_rewired_between_films_is_said():
    site = house(0)
    wires = wired(site, None, np.random.default_rng(0))[0]
    _, (left, _) = two()
    wires["gable"].reverse()
    _, (_, right_) = two(wires=wires)
    found = diagnose(site, {"left.mp4": filmed(left), "right.mp4": filmed(right_)})
    (said,) = found.contradictions
    assert 'line "gable" elsewhere than the other films do' in said
    assert not found.right
    lines = report_lines(site, found)
    assert said in lines
    assert "Every pixel that was seen is where the map has it." not in lines


def test_a_rail_that_hangs_wrongly_is_no_more_unlikely_for_being_filmed_twice():
    """Its 8 cm are one accident, whichever films show it: two films aren't two accidents."""
    site, (left, _) = two(noise=0.1, off_by=0.0)
    films, wiring = explained(site, left)
    edges = site.pixels.edge
    number = np.flatnonzero(edges == edges[0])
    which = 11 + 8 * np.unique(edges[edges >= 0]).tolist().index(edges[0])
    shown = Shown.of(films, wiring.holes, site)
    twice = Shown.of(films * 2, wiring.holes, site)
    along = shown.views.ways[0, :, :, which]  # to the right
    on = np.isin(shown.rows.number, number)[:, None]
    once = replace(
        shown, rows=shown.rows._replace(place=shown.rows.place + 4 * on * along[shown.rows.number])
    )
    rows = twice.rows
    both = replace(
        twice,
        rows=rows._replace(
            place=rows.place + 4 * np.isin(rows.number, number)[:, None] * along[rows.number]
        ),
    )
    one, usual = once.unlike(once.rows.number), shown.unlike(shown.rows.number)
    two_, usual_two = both.unlike(rows.number), twice.unlike(rows.number)
    assert one - usual > 1
    assert two_ - usual_two < 1.5 * (one - usual)


@pytest.mark.parametrize(("seed", "fault"), [(104, "too many")])
def test_two_films_show_together_what_neither_shows_alone(seed, fault):
    site, films, told = pair(seed, fault, seed, hidden=0.8)
    alone = [judged(site, film) for film in films]
    assert not any(right(faults, told) for faults in alone)
    faults = judged(site, *films)
    assert right(faults, told), [f.words for f in faults]


def test_a_film_that_shows_little_is_put_in_place_by_what_another_shows(monkeypatch):
    """Both lines are fed from their other ends: eighteen pixels alone fit no single fault."""
    site = house(0)
    wires = wired(site, None, np.random.default_rng(0))[0]
    for wire in wires.values():
        wire.reverse()
    same = np.arange(len(site.pixels))
    one = same.copy()
    span = site.pixels.lines[1]
    one[span.slice] = same[span.slice][::-1]
    monkeypatch.setattr("lumenmap.camera.faults.explain.wirings", lambda _: [one])
    _, (left, right_) = two(wires=wires)
    few = only(right_, [*range(5, 15), *range(120, 128)])
    (_, placed), wiring = explained(site, left, few)
    take = Take(seed=32, bearing=-0.4, hung=31, hidden=0.0)
    assert np.linalg.norm(placed.shot.position - stand(site, take).position) < 1.5
    assert len(placed.fitting(wiring.holes)) == 18
