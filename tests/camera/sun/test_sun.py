"""The sun's shadows in photographs: found, taken out, and left alone where there are none."""

import numpy as np
import pytest

pytest.importorskip("embreex", reason="no wheel of the ray engine for this system")

from lumenmap.camera.stage import shade, stage
from lumenmap.camera.stage.sun import find_sun
from tests.camera.photos import paired, site_of
from tests.camera.sun.daylight import Drawn, Once, Traced, towards

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


@pytest.mark.parametrize(("kind", "options"), [(Drawn, {}), (Traced, {"paths": 3})])
def test_without_a_sun_a_photograph_stays_as_it_is(kind, options, tmp_path, monkeypatch):
    """Traced, walls get darker towards the eaves, as they do under an overcast sky."""
    site = site_of("1", tmp_path)
    same = []

    def watched(photo, faces):
        same.append(shade.without_sun(photo, faces) is photo)
        return photo

    monkeypatch.setattr(stage, "without_sun", watched)
    seen = kind(site, None, **options)
    monkeypatch.setattr(
        seen, "night", lambda camera, light: np.zeros((camera.height, camera.width, 3), np.uint8)
    )
    paired(site, 1, *SIZE, seen)
    assert same == [True]
