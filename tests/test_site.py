"""A site calculates each thing once, and only when it is needed."""

import numpy as np
import pytest

from lumenmap import site as module
from lumenmap.core.errors import InputError
from lumenmap.site import Site


@pytest.fixture
def site(examples):
    return Site.read(examples / "alder-cottage" / "house.toml")


def test_each_thing_is_calculated_once_from_one_layout(site, monkeypatch):
    calls = []
    for name in ("layout_lines", "map_pixels", "build_wiring", "budgets"):
        real = getattr(module, name)
        monkeypatch.setattr(
            module, name, lambda *a, real=real, name=name: calls.append(name) or real(*a)
        )
    assert calls == []
    first = (site.budgets, site.wiring, site.pixels, site.line_layouts)
    assert first == (site.budgets, site.wiring, site.pixels, site.line_layouts)
    assert sorted(calls) == ["budgets", "build_wiring", "layout_lines", "map_pixels"]


def test_a_map_that_is_there_is_taken(site):
    assert Site(site.house, site.pixels).pixels is site.pixels


def test_a_house_without_supplies_still_has_its_pixels(site):
    bare = site.rewired(supplies=(), feeds=(), buses=())
    assert bare.pixels is site.pixels
    with pytest.raises(InputError, match="supply"):
        _ = bare.wiring
    assert not np.isfinite(bare.budgets.amps).any()  # so it can be drawn


def test_rewiring_moves_no_pixel_and_changes_the_budgets(site):
    small = tuple(s.__class__(s.name, s.volts, s.amps / 2) for s in site.house.supplies)
    other = site.rewired(supplies=small)
    assert (other.pixels.xyz == site.pixels.xyz).all()
    halves = np.array(other.budgets.kinds) == "supply"
    assert np.allclose(other.budgets.amps[halves], site.budgets.amps[halves] / 2)


def test_it_shows_as_one_line(site):
    assert repr(site).startswith("<Site 'Alder Cottage' from ") and "\n" not in repr(site)


def test_a_wrong_file_is_refused_when_read(tmp_path):
    (tmp_path / "house.toml").write_text("[house]\nname = 3\n")
    with pytest.raises(InputError, match="name"):
        Site.read(tmp_path / "house.toml")
