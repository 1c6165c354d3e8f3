"""The commands effects, palette and try, as a person runs them."""

import base64
import io
import json
import re
import shlex
from pathlib import Path

import pytest
from PIL import Image

from lumenmap.show.effects.registry import effects

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


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
    assert "speed = 1.2 m/s" in lumenmap("effects", "chase", "--unit", "m").out
    rows = json.loads(lumenmap("effects", "gradient", "--json").out)["options"]
    assert {"length", "speed", "way"} == {r["name"] for r in rows}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[house]\nunit = "m"\nname =\n', "4 ft/s"),  # it can't be read
        ('[house]\nunit = "m"\nmistakes = 3\n', "1.2 m/s"),
        ('[house]\nunit = "cm"\n', "120 cm/s"),
        ("[house]\nunit = 3\n", "4 ft/s"),
        ("house = 3\n", "4 ft/s"),
    ],
)
def test_an_effect_is_described_in_the_unit_of_the_house_here(lumenmap, text, said):
    Path("house.toml").write_text(text, "utf-8")
    assert f"speed = {said}\n" in lumenmap("effects", "chase").out
    there = Path("there")
    there.mkdir()
    Path("house.toml").rename(there / "house.toml")
    assert "speed = 4 ft/s" in lumenmap("effects", "chase").out
    assert f"speed = {said}\n" in lumenmap("effects", "chase", "--house", "there").out
    assert "speed = 4 ft/s" in lumenmap("effects", "chase", "--house", "there", "--unit", "ft").out


def test_help_is_in_the_unit_of_the_house_here(lumenmap):
    assert "Default: 4 ft/s" in " ".join(lumenmap("help", "effects").out.split())
    Path("house.toml").write_text('[house]\nunit = "mm"\n', "utf-8")
    assert "Default: 1.2 m/s" in " ".join(lumenmap("help", "effects").out.split())


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["effects", "chse"], 'no effect "chse"; did you mean "chase"'),
        (["effects", "chase", "--unit", "feet"], 'no unit "feet"'),
        (["palette", "check", "frst"], 'no palette "frst"; did you mean "frost"'),
        (["palette", "check", "frost", "--kind", "ws2812"], 'no pixel kind "ws2812"'),
        (["palette", "show", "frost", "-o", "none/x.png"], "can't be written"),
        (["palette", "show", "frost", "-o", "x.bmp"], "x.bmp: expected a file name ending in .png"),
        (
            ["survey", "none.toml", "--film", "none.mp4", "-o", "x.svg"],
            "x.svg: expected a file name ending in .png",
        ),
        (["palette", "new", "x"], "either a picture"),
        (
            ["palette", "new", "x", "--photo", "rose.jpg", "--harmony", "triad"],
            "^--harmony: applies to a colour, --base, not to a photograph$",
        ),
        (["palette", "new", "x", "--photo", "rose.jpg", "--keep-dim"], "^--keep-dim: applies to a"),
        (["palette", "new", "x", "--base", "red", "--count", "3"], "^--count: applies to a photo"),
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
        (["try", "chase", "--on", "porhc"], '--on: no place "porhc"; did you mean "porch"'),
        (["try", "chase", "--time", "noon"], '--time: no time "noon"'),
        (["try", "chase", "--view", "above"], '--view: no view "above"'),
        (["try", "chase", "--at", "1"], "--at: applies to .png and .jpg files only"),
        (["try", "chase", "-o", "a.png", "--at", "1:99"], '--at: is "1:99"; after a colon'),
        (
            ["try", "chase", "-o", "a.png", "--width", "64", "--at", "0:09"],
            "--at: is 9 s, but the show lasts 8 s",
        ),
        (["effects", "chase", "-o", "a.gif"], "effects are drawn as .png, .jpg or .html"),
        (["effects", "chase", "-o", "a.png", "--at", "0:09"], "--at: is 9 s; expected 0 to 8 s"),
    ],
)
def test_mistakes_end_in_one_line_and_code_2(lumenmap, words, says):
    lumenmap(*words).fails(2, says)


def test_pictures_of_an_effect_and_of_palettes(lumenmap):
    assert lumenmap("effects", "rings", "-o", "rings.png").code == 0
    assert min(size("rings.png")) > 400
    assert lumenmap("palette", "show", "frost", "-o", "frost.png").code == 0
    assert size("frost.png") == (1240, 196)


def test_a_trial_is_drawn_where_when_and_as_asked(lumenmap):
    """On the ridge alone, at night, at a moment: another picture than without each of these."""
    seen = []
    for words in (
        [],
        ["--on", "porch"],
        ["--time", "night"],
        ["--view", "front"],
        ["--at", "0:01.3"],
    ):
        done = lumenmap("try", "chase", "-o", "a.jpg", "--width", "128", *words)
        assert done.code == 0, done
        with Image.open("a.jpg") as image:
            assert (image.format, image.size) == ("JPEG", (128, 72))
            seen.append(image.convert("RGB").tobytes())
    assert len(set(seen)) == len(seen)
    assert lumenmap("try", "chase", "-o", "a.html", "--width", "128").code == 0
    assert Path("a.html").read_text("utf-8").startswith("<!DOCTYPE html>")


def test_one_effect_at_a_moment(lumenmap):
    assert lumenmap("effects", "chase", "-o", "a.png").code == 0
    assert lumenmap("effects", "chase", "-o", "b.jpg", "--at", "0:02", "--on", "eave").code == 0
    assert size("b.jpg")[0] > size("a.png")[0]


def test_a_page_of_effects_moves_only_what_may(lumenmap, tmp_path, monkeypatch):
    """Every effect has a still; one that flashes has nothing else."""
    kept = ("chase", "flash")
    folder = tmp_path / "fx"
    folder.mkdir()
    (folder / "flash.py").write_text(FLASH)
    from lumenmap.jobs import effect_pictures

    monkeypatch.setattr(
        effect_pictures,
        "effects",
        lambda folders: {n: e for n, e in effects(folders).items() if n in kept},
    )
    assert lumenmap("effects", "-o", "all.html", "--effects", folder).code == 0
    text = Path("all.html").read_text("utf-8")
    data = json.loads(text.split('id="data">')[1].split("</script>")[0])
    assert [e["name"] for e in data["effects"]] == ["chase", "flash"]
    assert data["effects"][1]["command"].endswith(f"--effects {folder}")
    chase, flash = data["effects"]
    assert flash["moving"] == ""
    for url, frames in ((chase["moving"], 40), (chase["still"], 1), (flash["still"], 1)):
        with Image.open(io.BytesIO(base64.b64decode(url.split(",")[1]))) as image:
            assert (image.format, image.size, image.n_frames) == ("WEBP", (320, 180), frames)


def test_the_command_under_a_picture_draws_that_picture_on_the_same_house(lumenmap, monkeypatch):
    """It names the house, the palette, and all that the page was asked for: it runs as it stands."""
    from lumenmap.jobs import effect_pictures

    monkeypatch.setattr(effect_pictures, "effects", lambda _: {"hearth": effects()["hearth"]})
    house = EXAMPLES / "kelder-studio" / "house.toml"
    given = ("--house", house, "--time", "night", "--view", "front", "--on", "rake")
    assert lumenmap("effects", "-o", "all.html", *given).code == 0
    text = Path("all.html").read_text("utf-8")
    (hearth,) = json.loads(text.split('id="data">')[1].split("</script>")[0])["effects"]
    command = shlex.split(hearth["command"])
    assert command[:3] == ["lumenmap", "try", "hearth"]
    assert command[5:] == list(map(str, given))
    got = lumenmap(*command[1:], "-o", "larger.png", "--width", "128")
    assert got.code == 0 and f"hearth, {command[4]} on Kelder Studio" in got.out


FLASH = '''"""Flash."""

import numpy as np



def flash(at, t, palette, /):
    """Flash five times a second."""
    on = (np.floor(10 * t) % 2).astype(np.float32)
    return np.broadcast_to(on[..., None], (len(t), len(at.xyz), 3))
'''


def test_palettes_are_listed_with_their_occasions(lumenmap):
    out = lumenmap("palette", "list").out
    # The longest name pushed its row to the right.
    assert len({re.match(r"\S+ +", row).end() for row in out.splitlines()}) == 1
    assert "row-of-lamps" in out
    assert "Diwali" in out


def test_a_palette_is_checked_on_the_pixels_of_ones_own_house(lumenmap):
    """White on an invented house of 5 V pixels draws other currents than on 12 V ones."""
    house = EXAMPLES / "tannery-row" / "house.toml"
    own = lumenmap("palette", "check", "spectrum", "--house", house)
    plain = lumenmap("palette", "check", "spectrum")
    assert own.out.startswith("spectrum on ws2812b-v5: ")
    assert plain.out.startswith("spectrum on ws2811-12v: ")
    assert "CIEDE2000 below 10" in own.out


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
