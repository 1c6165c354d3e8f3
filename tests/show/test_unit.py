"""A number without a unit in a show: the show's own unit, else its house's, else the one played on."""

import pytest

from lumenmap.show.load import load_show

SHOW = """[show]
length = "1 s"
{}
[[cue]]
[[cue.layer]]
effect = "chase"
spacing = 2
"""


def spacing(folder, keys, unit=None):
    (folder / "show.toml").write_text(SHOW.format(keys))
    return load_show(folder / "show.toml", unit=unit).cues[0].layers[0].options["spacing"]


@pytest.fixture
def folder(tmp_path):
    own = tmp_path / "own"
    own.mkdir()
    (own / "house.toml").write_text('[house]\nname = "feet"\nunit = "ft"\n')
    (own / "broken.toml").write_text("[house")
    (own / "odd.toml").write_text('[house]\nunit = "furlong"\n')
    (tmp_path / "outside.toml").write_text('[house]\nunit = "ft"\n')
    return own


@pytest.mark.parametrize(
    ("keys", "played_on", "metres"),
    [
        ('house = "house.toml"', None, 2 * 0.3048),
        ('house = "house.toml"', "m", 2 * 0.3048),  # as it was composed, on any house
        ('house = "house.toml"\nunit = "m"', None, 2),
        ('house = "house.toml"\nunit = "in"', "ft", 2 * 0.0254),
        ("", "ft", 2 * 0.3048),
        ("", None, 2),
        ('house = "none.toml"', "ft", 2 * 0.3048),
        ('house = "broken.toml"', None, 2),
        ('house = "odd.toml"', None, 2),
    ],
)
def test_whose_unit_it_is(folder, keys, played_on, metres):
    assert spacing(folder, keys, played_on) == pytest.approx(metres, rel=1e-12)


def test_a_house_outside_the_folder_is_not_read_for_its_unit(folder):
    from lumenmap.show.unit import unit_of

    assert unit_of({"show": {"house": "../outside.toml"}}, folder / "show.toml") == "m"


def test_a_show_without_a_unit_takes_that_of_the_house_it_is_given(tmp_path, lumenmap):
    from lumenmap.jobs.project import load
    from lumenmap.starter.start import start

    start(tmp_path)
    (tmp_path / "bare.toml").write_text(SHOW.format(""))
    layer = load(tmp_path / "bare.toml", house=tmp_path / "house.toml").show.cues[0].layers[0]
    assert layer.options["spacing"] == pytest.approx(0.6096)
