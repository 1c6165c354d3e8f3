"""The sun's shadows in photographs: found, taken out, and left alone where there are none."""

import numpy as np
import pytest
from scipy.ndimage import binary_erosion

pytest.importorskip("embreex", reason="no wheel of the ray engine for this system")

from lumenmap.camera.stage import shade, stage
from lumenmap.camera.stage.sun import ALONG, Sun, _edges, find_sun
from tests.camera.photos import paired, site_of
from tests.camera.sun.daylight import Drawn, Once, Traced, towards
from tests.pictures.tracer import Points, Sky

SIZE = (480, 270)


def drawn(site, seen, monkeypatch):
    """What is drawn on a photograph, with the suns that were found in it."""
    suns = []

    def watched(*asked):
        suns.append(find_sun(*asked))
        return suns[-1]

    monkeypatch.setattr(shade, "find_sun", watched)
    return paired(site, 1, *SIZE, seen), suns[0]


def degrees(sun, at):
    return np.degrees(np.arccos(np.clip(sun.towards @ towards(at), -1, 1)))


def test_shadows_of_the_sun_are_not_seen_by_night(tmp_path, monkeypatch):
    """A clear day by the independent renderer. ``python -m tests.camera.sun.sunlit`` has more."""
    site, at = site_of("1", tmp_path), (185.0, 58.0)
    seen = Once(Traced(site, at, paths=3))
    out, sun = drawn(site, seen, monkeypatch)
    assert degrees(sun, at) < 6
    monkeypatch.setattr(stage, "without_sun", lambda photo, faces: photo)
    left = paired(site, 1, *SIZE, seen)
    assert out.figures[0] < 0.8 * left.figures[0]


def test_the_sun_is_found_in_a_drawn_photograph(tmp_path, monkeypatch):
    site, at = site_of("1", tmp_path), (240.0, 20.0)
    out, sun = drawn(site, Drawn(site, at), monkeypatch)
    assert degrees(sun, at) < 6
    assert out.figures[0] < 0.04


@pytest.mark.parametrize(
    ("house", "size", "kind"),
    [("1", SIZE, Drawn), ("1", SIZE, Traced), ("juniper-flat", (640, 360), Traced)],
)
def test_without_a_sun_a_photograph_stays_as_it_is(house, size, kind, tmp_path, monkeypatch):
    """Traced, walls get darker towards the eaves, as they do under an overcast sky.

    On the first house that looks like a sun without edges, on the other like a weak one.
    """
    site = site_of(house, tmp_path)
    same = []

    def watched(photo, faces):
        same.append(shade.without_sun(photo, faces) is photo)
        return photo

    monkeypatch.setattr(stage, "without_sun", watched)
    seen = kind(site, None, **({"paths": 3} if kind is Traced else {}))
    black = np.zeros((size[1] + 160, size[0] + 160, 3), np.uint8)
    monkeypatch.setattr(seen, "night", lambda camera, light: black)
    paired(site, 1, *size, seen)
    assert same == [True]


@pytest.mark.parametrize("sunny", [True, False])
def test_edges_of_shadows_tell_a_sun_from_darker_eaves(sunny, tmp_path, monkeypatch):
    """A sun that isn't there, in the right direction and of usual strength, has no edges."""
    site, at = site_of("1", tmp_path), (185.0, 58.0)
    found = []

    def watched(photo, faces):
        bright = photo @ shade.LUMINANCE
        found.append(_edges(bright, faces, Sun(towards(at), 4.0)))
        return photo

    monkeypatch.setattr(stage, "without_sun", watched)
    seen = Traced(site, at if sunny else None, paths=3)
    black = np.zeros((SIZE[1] + 160, SIZE[0] + 160, 3), np.uint8)
    monkeypatch.setattr(seen, "night", lambda camera, light: black)
    paired(site, 1, *SIZE, seen)
    assert (found[0] > 2 * ALONG) if sunny else (found[0] < ALONG / 2)


def test_what_was_in_the_sun_is_as_bright_as_what_was_in_shade(tmp_path, monkeypatch):
    """Of each wall, over the sky's light by the independent renderer; a tree throws a shadow too.

    Under eaves there is less of the sky's light, and so the sun makes more of a difference: without
    that, walls that were in shade come out half as bright again.
    """
    site, at, size = site_of("1", tmp_path), (200.0, 40.0), (960, 540)
    seen = Traced(site, at, tree=True, paths=3)
    found = []

    def watched(photo, faces):
        found.append((shade.without_sun(photo, faces), faces))
        return photo

    monkeypatch.setattr(stage, "without_sun", watched)
    black = np.zeros((size[1] + 160, size[0] + 160, 3), np.uint8)
    monkeypatch.setattr(seen, "night", lambda camera, light: black)
    paired(site, 1, *size, seen)
    (even, faces), rng = found[0], np.random.default_rng(1)
    apart = []
    for index in np.unique(faces.which[faces.of("wall")]):
        inner = binary_erosion(faces.which == index, iterations=6)
        rows = rng.permutation(np.flatnonzero(inner))[:400]
        points = faces.points.reshape(-1, 3)[rows].astype(float)
        here = Points(points, np.tile(faces.normals[index], (len(rows), 1)), None)
        here.triangle = seen.world.meet(points + 0.1 * here.normal, -here.normal)[0].triangle
        lit = seen.world.sunlit(here, Sky(sun=np.ones(3), towards=towards(at))).any(1)
        if min(lit.sum(), (~lit).sum()) < 40:
            continue
        none = np.zeros((len(site.pixels), 3))
        sky = seen.world.around(here, none, Sky(dome=np.ones(3)), rng, 64).mean(1)
        level = np.log(even.reshape(-1, 3)[rows].mean(1) / sky)
        apart.append(np.median(level[lit]) - np.median(level[~lit]))
    assert len(apart) == 2
    assert np.abs(apart).max() < 0.2
