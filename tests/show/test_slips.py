"""Slips that people make in a show file, and what they are told: where, what, and what is meant."""

import re

import pytest

from lumenmap.core.errors import InputError
from lumenmap.jobs.project import load
from lumenmap.show.load import load_show

SHOW = """\
[show]
name = "Low Tide"
length = "40 s"
cross = "2 s"
[palette.shore]
stops = ["#0b3d5c", "gold"]
[group]
door = ["main/rake-left"]
[[cue]]
name = "drift"
length = "22 s"
fade = "3 s"
[[cue.layer]]
effect = "murmur"
palette = "shore"
opacity = 0.8
[[cue]]
start = "18 s"
[[cue.layer]]
effect = "lagoon"
on = ["main/rake-left"]
speed = "1 ft/s"
[[cue.layer]]
effect = "gradient"
way = "across"
"""


@pytest.fixture
def told(tmp_path):
    """Return what is said of the show with one text in place of another."""

    def said(old: str, new: str) -> str:
        assert old in SHOW
        (tmp_path / "show.toml").write_text(SHOW.replace(old, new, 1))
        with pytest.raises(InputError) as caught:
            load_show(tmp_path / "show.toml")
        return str(caught.value)

    return said


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        # Times as clocks show them.
        ('"40 s"', '"1:15"', r'show\.length: time is "1:15"; write "1 min 15 s" \(line 3\)'),
        ('"40 s"', "00:01:15", r'show\.length: time is "00:01:15"; write "1 min 15 s" \(line 3\)'),
        ('"18 s"', '"1:75"', r'start: time is "1:75"; expected a time such as "1 min 15 s" \(line'),
        ('"40 s"', '"1 m"', 'no unit "m"; did you mean "min"'),
        ('"40 s"', "true", "time is true; expected a number"),
        # Numbers.
        ("0.8", '"0,8"', r'opacity: is "0,8"; .* write "0.8", with a decimal point \(line 16\)'),
        ("0.8", "80", r'opacity: is 80; expected 0 to 1, .*; did you mean "80 %"\? \(line 16\)'),
        ("0.8", "{ from = 0, to = 1, over = 0 }", r"opacity\.over: is 0 s; expected a time above"),
        ("0.8", "{ from = 0, too = 1, over = 1 }", r'did you mean "to"\? Keys: after, at, '),
        (
            "0.8",
            '{ from = 0, to = "x", over = 1 }',
            'opacity: value 2 is "x"; expected a quantity such as 12',
        ),
        # Keys: misspelt, or by other words.
        (
            "effect =",
            "efect =",
            r'layer 1, efect: no such key; did you mean "effect"\? \(line 14\)',
        ),
        ("palette =", "pallete =", r'layer 1, pallete: .*; did you mean "palette"\? Options: size'),
        ("palette =", "colour =", r'layer 1, colour: .*; did you mean "palette"\? Options: size'),
        ("palette =", "exept =", r'layer 1, exept: .*; did you mean "except"\? Options: size'),
        ("opacity =", "brightness =", r'layer 1, brightness: .*; did you mean "opacity"\? Opt'),
        ('length = "22 s"', 'end = "22 s"', r'cue "drift", end: .*did you mean "length"\?'),
        ('start = "18 s"', 'at = "18 s"', r'cue 2, at: no such key; did you mean "start"\?'),
        ("name =", "title =", r'show\.title: no such key; did you mean "name"\?'),
        # Words.
        ('"murmur"', '["murmur"]', r'effect: is \["murmur"\]; expected a string in quotes'),
        ('way = "across"', 'blend = "add"', r'is "add"; did you mean "plus-lighter"\? Expected'),
        ('way = "across"', 'way = "gable"', 'If it is a route, write "along gable"'),
        ('"shore"\n', '"gren"\n', r'palette: no palette "gren"; did you mean "green"\?'),
        ('"shore"\n', '"dark red"\n', r'palette: no palette "dark red"; did you mean "darkred" or'),
        ('"shore"\n', '"shoer"\n', r'did you mean "shore"\? lumenmap palette list shows them all'),
        # Fades.
        ('fade = "3 s"', 'fade_in = "30 s"', r'cue "drift", fade_in: the fades take 30 s.*line 12'),
        (
            '"2 s"',
            '"30 s"',
            r"show\.cross: is 30 s; expected half the show, 20 s, or less \(line 4",
        ),
        # Tables.
        ("[[cue.layer]]", "[[layer]]", r"layer: no such key; did you mean \[\[cue\.layer\]\]\?"),
        ("[[cue.layer]]", "[cue.layer]", r"\[cue\.layer\] is one table; write \[\[cue\.layer\]\]"),
        ("[[cue]]", "[cue]", r"\[cue\] on line 9 is one of several; write \[\[cue\]\] there too"),
        ("[[cue]]\nname", "[[cues]]\nname", r"\[\[cue\.layer\]\] on line 13 stands before the"),
        ("[palette.shore]", "[palette]", r"palette: needs a name, as in \[palette\.NAME\]"),
        ("[palette.shore]", "[[palette]]", r"palette: needs a name, as in \[palette\.NAME\]"),
        (
            "[group]",
            '[palette.shore]\nstops = ["red"]\n[group]',
            r"line 7: \[palette\.shore\] is th",
        ),
        ("[show]\n", "", r"length: no such key; it belongs in \[show\]\. Keys here"),
        ("[show]\n", 'house = "a.toml"\n', r"house: no such key; it belongs in \[show\]\. Keys h"),
        # What a default wrote is the default's, and said once.
        (
            "[group]",
            "[defaults]\nopacity = 50\n[group]",
            r"^show\.toml: defaults\.opacity: is 50.*8",
        ),
        ("[group]", '[defaults]\nspeed = "1 kg"\n[group]', r"defaults\.speed: is .1 kg.*line 8"),
    ],
)
def test_a_slip_is_told_with_what_is_meant(told, old, new, says):
    assert re.search(says, told(old, new)), told(old, new)


def test_what_a_default_wrote_into_several_layers_is_told_once(told):
    assert told("[group]", "[defaults]\nopacity = 50\n[group]").count("is 50") == 1
    stops = told('palette = "shore"\n', '[defaults]\npalette = ["red", "gld"]\n')
    assert stops.startswith("show.toml: defaults.palette item 2: ")
    turns = told("[group]", "[defaults]\nturns = { every = 0, parts = 2 }\n[group]")
    assert turns.startswith("show.toml: defaults.turns.every: is 0; expected")
    cue = told("[group]", '[defaults.cue]\nfade_out = "-1 s"\n[group]')
    assert cue.count("can't be negative") == 1
    assert "defaults.cue.fade_out" in cue


def test_a_layers_own_mistake_isnt_its_defaults(told):
    said = told("0.8\n", "80\n[defaults]\nopacity = 0.5\n")
    assert said.startswith('show.toml: cue "drift", layer 1, opacity: is 80')


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            '"main/rake-left"]\ns',
            '"main/rake-lft"]\ns',
            r'no place "main/rake-lft"; did you mean .*',
        ),
        (
            '"main/rake-left"]\ns',
            '"rakes"]\ns',
            r'no place "rakes"; did you mean "rake"\? Places: .*',
        ),
        (
            '"main/rake-left"]\ns',
            '"frnt 2-4"]\ns',
            r'no place "frnt 2-4"; did you mean "front"\? .*',
        ),
        (
            '"main/rake-left"]\ns',
            '"front 9-4"]\ns',
            'is "front 9-4"; expected the lower number first',
        ),
        ('"across"', '"along gable"', r'way: no route "gable".*'),
    ],
)
def test_places_of_the_house_have_their_line_too(tmp_path, examples, old, new, says):
    house = examples / "alder-cottage" / "house.toml"
    (tmp_path / "show.toml").write_text(SHOW.replace(old, new, 1))
    with pytest.raises(InputError, match=rf"cue 2, layer .*{says}.*\(line 2\d\)"):
        load(tmp_path / "show.toml", house=house)


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("hose.toml", r'names "hose\.toml": no such file in .*did you mean "house\.toml"'),
        ("show.toml", r'names "show\.toml": is a show file'),
        ("front.png", r'names "front\.png": is a picture; expected a house file'),
    ],
)
def test_a_house_that_is_none_is_told_of_the_show(tmp_path, examples, name, says):
    text = (examples / "alder-cottage" / "house.toml").read_text("utf-8")
    (tmp_path / "house.toml").write_text(text, "utf-8")
    (tmp_path / "front.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    (tmp_path / "show.toml").write_text(SHOW.replace("[show]\n", f'[show]\nhouse = "{name}"\n', 1))
    with pytest.raises(InputError, match=rf"^show\.toml: show\.house: {says}.*\(line 2\)$"):
        load(tmp_path / "show.toml")
    (tmp_path / "house.toml").write_text(text.replace("[rail]", "[rial]", 1), "utf-8")
    (tmp_path / "show.toml").write_text(SHOW.replace("[show]\n", '[show]\nhouse = "house.toml"\n'))
    with pytest.raises(InputError, match=r"^house\.toml: rial: no such key"):
        load(tmp_path / "show.toml")


def test_a_file_that_begins_with_a_mark_of_utf_8_is_read(tmp_path):
    """As editors on Windows may write it."""
    (tmp_path / "show.toml").write_text("\ufeff" + SHOW, "utf-8")
    assert load_show(tmp_path / "show.toml").name == "Low Tide"
    (tmp_path / "show.toml").write_text("\ufeff" + SHOW.replace('"40 s"', '"-1 s"'), "utf-8")
    with pytest.raises(InputError, match=r"show\.length: .*\(line 3\)"):
        load_show(tmp_path / "show.toml")
    (tmp_path / "show.toml").write_text(SHOW, "utf-16")
    with pytest.raises(InputError, match="is not UTF-8 text .*; save it as UTF-8"):
        load_show(tmp_path / "show.toml")
