"""The example of an effect of one's own works, is listed, documented and validated."""

from pathlib import Path

import pytest

BLINDS = Path(__file__).resolve().parents[2] / "examples" / "effects" / "blinds.py"


@pytest.fixture
def folder(started):
    (started / "my-effects").mkdir()
    (started / "my-effects" / "blinds.py").write_text(BLINDS.read_text())
    show = '[show]\nhouse = "house.toml"\nlength = "1 s"\n[[cue]]\n[[cue.layer]]\neffect = "blinds"\nslat = "6 in"\n'
    (started / "show.toml").write_text(show)
    return started


def test_it_is_listed_documented_and_plays(folder, lumenmap):
    words = ("--effects", folder / "my-effects")
    assert "blinds" in lumenmap("effects", *words).out
    said = lumenmap("effects", "blinds", *words).out
    assert '"shutter" is blinds' in lumenmap("effects", "shutter", *words).out
    assert "height of a slat" in said and "Open and close in level slats" in said
    done = lumenmap("check", folder / "show.toml", *words)
    assert done.code == 0, done.err
    assert "no effect" in lumenmap("check", folder / "show.toml").err


def test_its_options_are_validated(folder, lumenmap):
    show = folder / "show.toml"
    show.write_text(show.read_text().replace('"6 in"', '"600 ft"'))
    lumenmap("check", show, "--effects", folder / "my-effects").fails(2, r"layer 1, slat")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("def blinds(", "def blind(", "blinds"),
        ('lit[..., None].astype("f4")', "1", None),
        ("return palette", "return np.nan * palette", "finite"),
        ("return palette", "return 1 // 0 * palette", "ZeroDivisionError"),
        ("return palette(np.floor(height) / 8 + 0 * t) * lit[..., None]", "return lit", "shape"),
        ("import numpy as np", "import nunpy as np", "nunpy"),
        ("def blinds(", "def blinds(:", "blinds"),
    ],
)
def test_a_bad_one_gets_a_sentence(folder, lumenmap, old, new, says):
    file = folder / "my-effects" / "blinds.py"
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new))
    done = lumenmap("check", folder / "show.toml", "--effects", folder / "my-effects")
    if says is None:
        assert done.code == 0
    else:
        done.fails(2, says)
