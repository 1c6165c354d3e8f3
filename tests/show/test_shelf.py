"""Palettes by name from files of one's own, and colours where a palette is expected."""

import numpy as np
import pytest

from lumenmap.colour import css
from lumenmap.core.errors import InputError
from lumenmap.show.compose import compose, cue, layer
from lumenmap.show.load import load_show
from lumenmap.show.palettes import named, shelf, write_palette
from lumenmap.show.shelf import own_folder

SHOW = """
[show]
length = "2 s"
{more}
[[cue]]
[[cue.layer]]
effect = "still"
palette = {palette}
"""


@pytest.fixture
def palette_of(tmp_path):
    def read(palette, more=""):
        file = tmp_path / "show.toml"
        file.write_text(SHOW.format(palette=palette, more=more))
        return load_show(file).cues[0].layers[0].palette

    return read


@pytest.fixture
def own(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return own_folder()


def test_a_colour_or_a_list_of_colours_is_a_palette(palette_of):
    gold = palette_of('"gold"')
    assert np.allclose(gold(np.linspace(0, 1, 9)), css.colour("gold"), atol=1e-5)
    two = palette_of('["gold", "oklch(0.7 0.27 145)"]')
    assert [s.text for s in two.stops] == ["gold", "oklch(0.7 0.27 145)"] and two.cyclic
    assert palette_of('"frost"').name == "frost", "a name comes before a colour"
    show = compose(cue(layer("still", ["red", "white"]), layer("still", "teal")), length=3)
    assert [x.palette.name for x in show.cues[0].layers] == ["red, white", "teal"]


@pytest.mark.parametrize(
    ("palette", "says"),
    [
        ('"frst"', 'layer 1, palette: no palette "frst"; did you mean "frost"'),
        ('"#12345"', 'layer 1, palette: "#12345" isn\'t a colour'),
        ('["gold", "wite"]', 'layer 1, palette item 2: no colour "wite"; did you mean "white"'),
        ("[]", "palette: is .*; expected a palette's name, a colour, or a list of colours"),
        ("7", "palette: is 7; expected a palette's name"),
        ('["gold", 7]', "expected a palette's name, a colour, or a list of colours"),
    ],
)
def test_what_is_none_is_said_with_its_place(palette_of, palette, says):
    with pytest.raises(InputError, match=says):
        palette_of(palette)


def test_files_of_ones_own_are_found_by_name(palette_of, tmp_path, own):
    """The show's own table first, then its folder, then the user's folder, then the package."""
    own.mkdir(parents=True)
    (own / "frost.palette.toml").write_text('stops = ["red"]')
    (own / "garden.palette.toml").write_text('stops = ["lime", "yellow"]\nsteps = true')
    assert palette_of('"garden"').steps
    assert palette_of('"frost"').stops[0].text == "red"
    (tmp_path / "frost.palette.toml").write_text('stops = ["blue"]')
    assert palette_of('"frost"').stops[0].text == "blue"
    table = '[palette.frost]\nstops = ["white"]'
    assert palette_of('"frost"', table).stops[0].text == "white"
    rows = {r["name"]: r for r in named()}
    assert rows["garden"]["occasion"] == "your own" and rows["frost"]["stops"] == ["red"]
    rows = {r["name"]: r for r in named(tmp_path / "show.toml")}
    assert rows["frost"]["occasion"] == "of the show" and rows["frost"]["stops"] == ["white"]


def test_one_object_for_one_name(own):
    held = shelf()
    assert held.find("gold") is held.find("gold")
    assert held.find(["red", "blue"]) is held.find(("red", "blue"))


def test_a_broken_file_stops_only_what_names_it(palette_of, own):
    own.mkdir(parents=True)
    (own / "odd.palette.toml").write_text('stops = ["red", "wite"]')
    (own / "odder.palette.toml").write_text('stopps = ["red"]')
    assert palette_of('"frost"').name == "frost"
    with pytest.raises(InputError, match=r'odd.palette.toml: stops item 2: no colour "wite"'):
        palette_of('"odd"')
    with pytest.raises(InputError, match=r"odder.palette.toml: .*stopps"):
        palette_of('"odder"')


def test_a_new_palette_is_kept_and_never_written_over(own, tmp_path, lumenmap, palette_of):
    assert lumenmap("palette", "new", "dusk", "--base", "#c41e3a", "--save").code == 0
    assert (own / "dusk.palette.toml").read_text().startswith('stops = ["#')
    assert len(palette_of('"dusk"').stops) == 5
    assert "your own" in lumenmap("palette", "list", "dusk").out
    lumenmap("palette", "new", "dusk", "--base", "red", "--save").fails(2, "is there already")
    done = lumenmap("palette", "new", "dusk", "--base", "red", "--in", tmp_path)
    assert done.code == 0 and (tmp_path / "dusk.palette.toml").exists()
    with pytest.raises(InputError, match="isn't a palette name"):
        write_palette("../dusk", ["red"])
    lumenmap("palette", "new", "x", "--base", "red", "--in", tmp_path / "none").fails(
        2, "can.t be written"
    )


def test_commands_take_them_too(own, lumenmap):
    assert "gold on ws2811-12v" in lumenmap("palette", "check", "gold").out
    lumenmap("palette", "list", "qqqq").fails(2, '"qqqq" leads to no palette')
    assert "paper-streamers" in lumenmap("palette", "list", "birthday").out
