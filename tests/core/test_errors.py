"""Errors say where, what is there and what is expected."""

import tomllib
from pathlib import Path
from typing import Annotated, Literal

import pytest
from pydantic import Field

from lumenmap.core.errors import InputError, near, unknown
from lumenmap.core.toml.keys import key_text
from lumenmap.core.toml.lines import key_lines
from lumenmap.core.toml.reading import LARGEST, load_toml
from lumenmap.core.toml.tables import Table, located, read
from lumenmap.house.reading.file import HouseFile


def test_place_comes_first_and_the_message_is_one_line():
    error = InputError("is  3;\n expected 4", file="some/house.toml", key="rail.length")
    assert str(error) == "house.toml: rail.length: is 3; expected 4"


def test_unknown_names_the_nearest_and_the_known():
    said = unknown("edge", "gable-lft", ["porch", "gable-left"])
    assert said == 'no edge "gable-lft"; did you mean "gable-left"? Edges: gable-left, porch'
    assert unknown("edge", "x", []) == 'no edge "x"; there are no edges'
    assert near("zzz", ["abc"]) == ""


class Inner(Table):
    size: float = 1.0


class Outer(Table):
    name: str
    inner: Inner = Inner()
    part: list[Inner] = []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("flag = flase", r"line 1: did you mean false\? A string would need quotes: \"flase\""),
        ("flag = Ture", r"line 1: did you mean true\?"),
        ("name = ", r"a\.toml: isn't TOML: line 1: the value is missing after ="),
        ("", r"a\.toml: name: is missing"),
        ('name = "x"\nslope = 6/12', r"a\.toml: isn't TOML: line 2: put \"6/12\" in quotes\n"),
        ("slope = 6/12 # half", r"  1 \| slope = 6/12 # half\n    \|          \^$"),
        ("a = { jumper = 9 ft, b = 1 }", 'put "9 ft" in quotes'),
        ("a = [1, 4 in]", 'put "4 in" in quotes'),
        ("to = 11:30 pm", 'put "11:30 pm" in quotes'),
        ('a = [\n  "x"\n  "y",\n]', "line 3: a comma is missing before what is marked"),
        ("a = [[0, 1] [2, 3]]", "line 1: a comma is missing before what is marked"),
        ("a = [1 2]", "line 1: a comma is missing before what is marked"),
        ("a = { b = 1 c = 2 }", "line 1: a comma is missing before what is marked"),
        ("a = [1, 2", "line 1: ] is missing before what is marked"),
        ("a = [1, 2\nb = 3", "line 2: ] is missing before what is marked"),
        ("a = [1, 2\n\n[[mass]]\nb = 3", "line 3: ] is missing before what is marked"),
        ("a = { b = [1, 2 }", "line 1: ] is missing before what is marked"),
        ("a = { b = 1", "line 1: } is missing before what is marked"),
        ("a = { b = 1 }}", "line 1: there is one bracket too many"),
        ('name = "x" width = 3', "line 1: write each key on a line of its own"),
        ("width: 3", "line 1: expected = after a key"),
        ("[mass", r"line 1: a heading that begins with \[ ends with \]"),
        ("[[mass]", r"line 1: a heading that begins with \[\[ ends with \]\]"),
        ('a = { b = "x", }', "line 1: leave out the comma before }"),
        ("a = {\n b = 1,\n}", "line 1: a table in { } must be on one line"),
        ("a = 3\na = 4", "line 2: this key is there twice"),
        ("a = 3\n[a]", "line 2: this key is there twice"),
        ("a = .8", r"line 1: write 0\.8\n"),
        ("a = [1, -5.]", r"line 1: write -5\.0\n"),
        ("[a.b]\nc = 1\n[a.b]", r"line 3: \[a\.b\] is there twice; rename one of them"),
        ("[[a]]\n[a.b]\n[a.b]", r"line 3: \[a\.b\] is there twice; if .* write \[\[a\.b\]\]"),
        ("[part]\n[[part]]", r"line 2: \[part\] on line 1 is one of several; write \[\[part\]\]"),
        ("[[part.x]]\n[[part]]", r"line 2: \[\[part\.x\]\] on line 1 stands before the first"),
        ('name = ["a", true]', r'name: is \["a", true\]; expected a string'),
        ("name = { a = 1 }", r"name: is \{ a = 1 \}; expected a string"),
        ("colour = #ff0000 # red", 'put "#ff0000" in quotes'),
        ("effect = chase", 'put "chase" in quotes'),
        ("width = 5,45", r"line 1: write 5\.45, with a decimal point\n  1 \| width = 5,45"),
        ("name = “x”", "line 1: use straight quotes"),
        ("cyclic = True", "write true or false, in lower case"),
        ('name = "x', 'the closing quote " is missing'),
        ("name = 12' 6\"", 'write feet and inches as "12 ft 6 in"'),
        ('slope = 8/12" # half', "line 1: a string has a quote at both ends"),
        ("[part", r"a heading that begins with \[ ends with \]\n  1 \| \[part\n"),
        ("name = 6/12" + "x" * 500 + "\x1b[31m", r"\| name = 6/12x+\n"),
        ("name = 3", r"a\.toml: name: is 3; expected a string in quotes"),
        (
            'name = "x"\nnmae = 2',
            r'nmae: no such key; did you mean "name"\? Keys here: name, inner',
        ),
        ('name = "x"\n[inner]\nsiz = 2', r'inner\.siz: no such key; did you mean "size"\?'),
        ('name = "x"\n[[part]]\n[[part]]\nsiz = 2', r"part 2, siz: no such key"),
        (
            'name = "x"\n[[part]]\nsize = "big"',
            r'part 1, size: is "big"; expected a number \(line 3\)',
        ),
    ],
)
def test_wrong_tables(tmp_path, text, says):
    (tmp_path / "a.toml").write_text(text)
    with pytest.raises(InputError, match=says):
        read(Outer, tmp_path / "a.toml")


@pytest.mark.parametrize(
    ("loc", "says"),
    [
        (("rail", "length"), "rail.length"),
        (("cue", 1, "layer", 0, "speed"), "cue 2, layer 1, speed"),
        (("line", 0, "path", 2, "jumper"), 'line "front", path item 3 (jumper), jumper'),
        (("line", 0, "path", 0), 'line "front", path item 1'),
        (("feed", 0, "fuse"), 'feed "garage" to "front", fuse'),
        (("edge", 0, "points", 1, 2), "edge 1, points item 2, item 3"),
        (("rule", 0, "on", 1), "rule 1, on item 2"),
    ],
)
def test_items_count_from_1_and_are_named_where_they_have_a_name(loc, says):
    data = {
        "cue": [{}, {"layer": [{"speed": 1}]}],
        "line": [{"name": "front", "path": ["a", "b", {"jumper": 1}]}],
        "feed": [{"supply": "garage", "to": "front"}],
        "edge": [{"points": [[0, 0, 0], [0, 0, "x"]]}],
        "rule": [{"on": ["friday", "frday"]}],
    }
    assert key_text(loc, data) == says


class Many(Table):
    name: str
    flag: bool = False
    mode: Literal["steady", "glide"] = "glide"
    size: Annotated[float, Field(gt=0, le=10)] = 1.0
    pair: Annotated[list[float], Field(min_length=2, max_length=2)] = [1, 2]
    on: str | list[str] = ""
    own: dict[str, Inner] = {}
    part: list[Inner] = []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("name = 2026-06-05", r"a\.toml: name: is 2026-06-05; expected a string in quotes"),
        ('flag = "yes"', r'flag: is "yes"; expected true or false \(line 1\)$'),
        (
            'mode = "glied"',
            r'mode: is "glied"; did you mean "glide"\? Expected "steady" or "glide"',
        ),
        ("size = 0", r"size: is 0; expected above 0"),
        ("size = 11.5", r"size: is 11.5; expected at most 10"),
        ("pair = [1]", r"pair: has 1 item; expected at least 2"),
        ("pair = [1, 2, 3]", r"pair: has 3 items; expected at most 2"),
        ("on = 3", r"on: is 3; expected a string in quotes or a list in \[ \] \(line 1\)$"),
        ("on = [3]", r"on item 1: is 3; expected a string in quotes"),
        ("[own.a]\nsiz = 1", r'own\.a\.siz: no such key; did you mean "size"\? Keys here: size'),
        ("[own.a.size]\nsiz = 1", r"own\.a\.size: is .*; expected a number"),
        ("[part]\nsize = 1.0", r"part: \[part\] is one table; write \[\[part\]\] \(line 1\)"),
    ],
)
def test_what_is_expected_in_plain_words(tmp_path, text, says):
    (tmp_path / "a.toml").write_text(text)
    with pytest.raises(InputError, match=says):
        read(Many, tmp_path / "a.toml")


def test_of_many_keys_the_near_one_is_enough(tmp_path):
    """A house's mass has 15 keys or more; a list of them all hides the one that was meant."""
    mass = '[[mass]]\nname = "main"\ndepth = 3\neave = 3\n'
    (tmp_path / "a.toml").write_text(f"{mass}widht = 3\nsmell = 3\n")
    with pytest.raises(InputError) as caught:
        read(HouseFile, tmp_path / "a.toml")
    said = [one.message for one in caught.value.each if one.message.startswith("no such key")]
    assert said[0] == 'no such key; did you mean "width"?'
    assert said[1].startswith("no such key. Keys here: name, ")


def test_all_mistakes_of_a_file_at_once_each_with_its_line(tmp_path):
    (tmp_path / "a.toml").write_text(
        'flag = 1\nsiz = 2\non = [\n  "x",\n  3,\n]\n[[part]]\n[[part]]\nsize = "big"\n'
    )
    with pytest.raises(InputError) as caught:
        read(Many, tmp_path / "a.toml")
    assert str(caught.value).splitlines() == [
        'a.toml: siz: no such key; did you mean "size"? Keys here: name, flag, mode, size, pair, '
        "on, own, part (line 2)",
        "a.toml: name: is missing",
        "a.toml: flag: is 1; expected true or false (line 1)",
        "a.toml: on item 2: is 3; expected a string in quotes (line 5)",
        'a.toml: part 2, size: is "big"; expected a number (line 9)',
    ]


def test_a_misspelt_key_is_not_missing_too(tmp_path):
    (tmp_path / "a.toml").write_text("nmae = 'x'\n")
    with pytest.raises(InputError) as caught:
        read(Outer, tmp_path / "a.toml")
    assert len(str(caught.value).splitlines()) == 1


def test_a_flood_of_mistakes_is_cut_short(tmp_path):
    (tmp_path / "a.toml").write_text('name = "x"\n' + "[[part]]\nsize = true\n" * 100)
    with pytest.raises(InputError) as caught:
        read(Many, tmp_path / "a.toml")
    lines = str(caught.value).splitlines()
    assert len(lines) == 21
    assert lines[-1] == "… and 80 more"


def test_errors_of_another_file_keep_no_line_of_this_one(tmp_path):
    (tmp_path / "a.toml").write_text("size = 1\n")
    with (
        pytest.raises(InputError, match=r"b\.toml: size: is wrong$"),
        located(tmp_path / "a.toml", {"size": 1}),
    ):
        raise InputError("is wrong", file=tmp_path / "b.toml", key="size")


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        (
            "[show]\n[[cue]]",
            "house",
            "is a show file; this command takes a house file. For a show file: lumenmap check, make or preview",
        ),
        ("[house]\n[[line]]", "show", "is a house file; this command takes a show file"),
        (
            "[house]\n[[line]]",
            "almanac",
            "an almanac file. For a house file: lumenmap power, map or sheets",
        ),
        (
            "[almanac]\n[[rule]]",
            "house",
            "a house file. For an almanac file: lumenmap tonight, year or run",
        ),
    ],
)
def test_one_kind_of_file_given_for_another(tmp_path, text, kind, says):
    (tmp_path / "a.toml").write_text(text)
    with pytest.raises(InputError, match=says):
        load_toml(tmp_path / "a.toml", kind)


def test_short_words_are_near_only_by_one_edit():
    assert near(".bmp", [".mp4", ".gif"]) == ""
    assert near(".gfi", [".mp4", ".gif"]) == '; did you mean ".gif"?'
    assert near("fot", ["ft", "m"]) == '; did you mean "ft"?'


def test_lines_of_every_key_of_every_example():
    """A line is found for each key that the parser finds, and no other."""

    def paths(value, path=()):
        if path:
            yield path
        if not isinstance(value, (dict, list)):
            return
        for part, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from paths(inner, (*path, part))

    files = list((Path(__file__).parents[2] / "examples").rglob("*.toml"))
    assert len(files) >= 8
    for file in files:
        text = file.read_text()
        assert set(key_lines(text)) == set(paths(tomllib.loads(text))), file


@pytest.mark.parametrize(
    ("text", "key", "line"),
    [
        ("a = 'x=y' # [ c\nb = 1", ("b",), 2),
        ('a = """\n[b]\nb = 2\n"""\nb = 1', ("b",), 5),
        ('"a.b" . c = 1\n', ("a.b", "c"), 1),
        ("[[a]]\n[a.b]\n[[a]]\n[a.b]\nc = 1", ("a", 1, "b", "c"), 5),
        ("a = [\n# [\n{ b = '}', c = [1,\n2] }]", ("a", 0, "c", 1), 4),
    ],
)
def test_lines_of_keys(text, key, line):
    assert key_lines(text)[key] == line


class Start(Table):
    house: Inner
    line: list[Inner]


def test_whole_tables_that_are_missing(tmp_path):
    (tmp_path / "house.toml").write_text("")
    with pytest.raises(InputError, match=r"\[house\] table is missing; lumenmap new makes one"):
        read(Start, tmp_path / "house.toml")
    (tmp_path / "house.toml").write_text("[house]\n")
    with pytest.raises(InputError, match=r"house.toml: \[\[line\]\] table is missing$"):
        read(Start, tmp_path / "house.toml")


@pytest.mark.parametrize(("start", "what"), [(b"\x89PNG\r\n", "picture"), (b"%PDF-\xff", "PDF")])
def test_pictures_given_for_files(tmp_path, start, what):
    (tmp_path / "p.png").write_bytes(start + b"\xff")
    with pytest.raises(InputError, match=f"p.png: is a {what}; expected a house file"):
        load_toml(tmp_path / "p.png", "house")


def test_files_that_are_not_text_files(tmp_path):
    (tmp_path / "house.toml").write_text("")
    with pytest.raises(InputError, match='no such file in .*did you mean "house.toml"'):
        load_toml(tmp_path / "hose.toml")
    with pytest.raises(InputError, match="is a folder"):
        load_toml(tmp_path)
    (tmp_path / "b.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(InputError, match=r"is not UTF-8 text \(byte 0\)"):
        load_toml(tmp_path / "b.toml")
    (tmp_path / "big.toml").write_bytes(b"#" * (LARGEST + 1))
    with pytest.raises(InputError, match="is over 2 MB"):
        load_toml(tmp_path / "big.toml")
    (tmp_path / "deep.toml").write_text("a = " + "[" * 5000)
    with pytest.raises(InputError, match="isn't TOML"):
        load_toml(tmp_path / "deep.toml")
