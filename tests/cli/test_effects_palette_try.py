"""The commands effects, palette and try, as a person runs them."""

import json

import pytest
from PIL import Image

from lumenmap.show.effects.registry import effects


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def size(path: str) -> tuple[int, int]:
    with Image.open(path) as image:
        return image.size


def test_effects_are_listed(lumenmap):
    out = lumenmap("effects").out
    for name, effect in effects().items():
        assert f"{name} " in out
        assert effect.summary in out
    assert len(json.loads(lumenmap("effects", "--json").out)["effects"]) >= 16


def test_an_effect_is_described_in_the_unit_asked_for(lumenmap):
    out = lumenmap("effects", "chase").out
    assert "speed = 4 ft/s\n      how fast they run (-90 ft/s to 90 ft/s)" in out
    assert "from CORNER" in out
    assert "speed = 1.219 m/s" in lumenmap("effects", "chase", "--unit", "m").out
    rows = json.loads(lumenmap("effects", "gradient", "--json").out)["options"]
    assert {"length", "speed", "way"} == {r["name"] for r in rows}


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["effects", "chse"], 'no effect "chse"; did you mean "chase"'),
        (["effects", "chase", "--unit", "feet"], 'no unit "feet"'),
        (["palette", "check", "frst"], 'no palette "frst"; did you mean "frost"'),
        (["palette", "check", "frost", "--kind", "ws2812"], 'no pixel kind "ws2812"'),
        (["palette", "show", "frost", "-o", "none/x.png"], "can't be written"),
        (["palette", "new", "x"], "either a picture"),
        (["palette", "new", "a b", "--base", "red"], "isn.t a palette name"),
        (["palette", "new", "x", "--base", "rde"], 'no colour "rde"'),
        (["palette", "list", "--show", "none.toml"], "no such file"),
        (["try", "chase", "speed"], "expected name=value"),
        (["try", "chase", "sped=3"], 'sped: chase has no such option; did you mean "speed"'),
        (["try", "chase", "speed=999"], "speed: is 999; expected -90 ft/s to 90 ft/s"),
        (["try", "chse"], 'no effect "chse"'),
        (["try", "chase", "-p", "frst"], 'no palette "frst"'),
        (["try", "chase", "way=from nowhere"], 'no corner "nowhere"'),
        (["try", "--house", "none.toml"], "no such file"),
    ],
)
def test_mistakes_end_in_one_line_and_code_2(lumenmap, words, says):
    lumenmap(*words).fails(2, says)


def test_pictures_of_an_effect_and_of_palettes(lumenmap):
    assert lumenmap("effects", "rings", "-o", "rings.png").code == 0
    assert min(size("rings.png")) > 400
    assert lumenmap("palette", "show", "frost", "-o", "frost.png").code == 0
    assert size("frost.png") == (1240, 196)


def test_palettes_are_listed_with_their_occasions(lumenmap):
    out = lumenmap("palette", "list").out
    assert "row-of-lamps" in out
    assert "Diwali" in out


def test_a_new_palette_goes_into_a_show(lumenmap, tmp_path):
    toml = lumenmap("palette", "new", "dusk", "--base", "#c41e3a", "--harmony", "triad").out
    show = f'[show]\nlength = "1 s"\n{toml}[[cue]]\n[[cue.layer]]\neffect = "swell"\npalette = "dusk"\n'
    (tmp_path / "show.toml").write_text(show)
    done = lumenmap("palette", "check", "dusk", "--show", "show.toml", "--json")
    report = json.loads(done.out)
    assert report["stops"][0] == "#ff2a4e", "as bright as LEDs can give the base"
    dim = lumenmap("palette", "new", "dusk", "--base", "#c41e3a", "--keep-dim").out
    assert 'stops = ["#c41e3a", ' in dim
    assert len(report["amps"]) == 3
    assert "of the show" in lumenmap("palette", "list", "--show", "show.toml").out


def test_try_plays_an_effect_on_a_house_without_a_show(lumenmap):
    done = lumenmap(
        "try",
        "brightwake",
        "speed=20 ft/s",
        "way=round",
        "-p",
        "frost",
        "--seconds",
        "0.6",
        "--width",
        "160",
        "-o",
        "s.gif",
    )
    assert done.code == 0, done.err
    with Image.open("s.gif") as image:
        assert image.n_frames >= 8
