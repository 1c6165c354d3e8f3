"""Errors say where, what is there and what is wanted."""

import pytest

from lumenmap.core.errors import InputError, near, unknown
from lumenmap.core.tables import LARGEST, Table, load_toml, read


def test_place_comes_first_and_the_message_is_one_line():
    error = InputError("is  3;\n wanted 4", file="some/house.toml", key="rail.length")
    assert str(error) == "house.toml: rail.length: is 3; wanted 4"


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
        ("name = ", r"a\.toml: is not TOML: Invalid value"),
        ("", r"a\.toml: name: is missing"),
        ('name = "x"\nslope = 6/12', r'a\.toml: is not TOML: line 2: put "6/12" in quotes\n'),
        ("slope = 6/12 # half", r"  1 \| slope = 6/12 # half\n    \|          \^$"),
        ("a = { jumper = 9 ft, b = 1 }", 'put "9 ft" in quotes'),
        ("a = [1, 4 in]", 'put "4 in" in quotes'),
        ("to = 11:30 pm", 'put "11:30 pm" in quotes'),
        ("colour = #ff0000 # red", 'put "#ff0000" in quotes'),
        ("effect = chase", 'put "chase" in quotes'),
        ("name = “x”", "line 1: use straight quotes"),
        ("cyclic = True", "write true or false, in small letters"),
        ('name = "x', 'the closing quote " is missing'),
        ("name = 12' 6\"", 'feet and inches are as "12 ft 6 in"'),
        ('slope = 8/12" # half', "line 1: a text has a quote at both its ends"),
        ("[part", r"Expected '\]' at the end of a table declaration .*\n  1 \| \[part\n"),
        ("name = 6/12" + "x" * 500 + "\x1b[31m", r"\| name = 6/12x+\n"),
        ("name = 3", r"a\.toml: name: is 3; wanted a valid string"),
        (
            'name = "x"\nnmae = 2',
            r'nmae: no such key; did you mean "name"\? Keys here: name, inner',
        ),
        ('name = "x"\n[inner]\nsiz = 2', r'inner\.siz: no such key; did you mean "size"\?'),
        ('name = "x"\n[[part]]\n[[part]]\nsiz = 2', r"part\[1\]\.siz: no such key"),
        ('name = "x"\n[[part]]\nsize = "big"', r'part\[0\]\.size: is "big"; wanted a valid number'),
    ],
)
def test_wrong_tables(tmp_path, text, says):
    (tmp_path / "a.toml").write_text(text)
    with pytest.raises(InputError, match=says):
        read(Outer, tmp_path / "a.toml")


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
    with pytest.raises(InputError, match=f"p.png: is a {what}; a house file is wanted"):
        load_toml(tmp_path / "p.png", "house")


def test_files_that_are_no_text_files(tmp_path):
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
    with pytest.raises(InputError, match="is not TOML"):
        load_toml(tmp_path / "deep.toml")
