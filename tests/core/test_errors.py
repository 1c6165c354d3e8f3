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
