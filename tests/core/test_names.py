"""One rule for every name, and one place that cleans text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.almanac.load import load_almanac
from lumenmap.core.errors import InputError
from lumenmap.core.names import check_name, check_sentence
from lumenmap.core.plain import plain
from lumenmap.house.reading.load import load_house
from lumenmap.show.load import load_show
from tests.small_house import HOUSE

#: Unicode 15 chapter 23 and UAX #9: controls of lines, of direction, and of terminals (ECMA-48).
CONTROLS = [*"\0\x07\x1b\x7f\x85\x9b\n\r\t\u2028\u2029\u200e\u202a\u202e\u2066\u2069\ufeff\ud800"]


@pytest.mark.parametrize("control", CONTROLS, ids=lambda c: f"{ord(c):04x}")
def test_no_name_holds_a_control(control):
    with pytest.raises(InputError, match=r"a name is one line of printable characters"):
        check_name(f"porch{control}front")
    shown = plain(f"porch{control}front")
    assert shown.isprintable() and shown.startswith("porch\\") and shown.endswith("front")


@pytest.mark.parametrize("name", ["Père Noël", "ваза", "می‌خواهم", "クリスマス", "100 %", "x" * 80])
def test_names_of_any_language_are_names(name):
    assert check_name(name) == plain(name) == name


def test_a_long_name_is_refused():
    with pytest.raises(InputError, match="has 81 characters; a name may have 80"):
        check_name("x" * 81)


@given(st.text(st.characters(), max_size=300), st.integers(3, 80))
def test_whatever_it_is_it_comes_out_on_one_printable_line(text, most):
    shown = plain(text)
    assert all(c.isprintable() or c in "\u200c\u200d" for c in shown)
    assert len(shown.splitlines()) <= 1
    assert plain(shown) == shown
    assert len(plain("a" * len(text), most)) == min(len(text), most)


def test_an_error_is_fit_for_a_terminal():
    error = InputError('is "\x1b]0;x\x07"', file="a\x1b[31m.toml", key="k" * 500)
    assert all(c.isprintable() for c in str(error))
    assert len(str(error)) < 300


BAD = '"a\\nsupply x  9.9 A"'
SHOW = '[show]\nname = {show}\nhouse = "house.toml"\nlength = "1 s"\n[[cue]]\nname = {cue}\n[[cue.layer]]\neffect = "gradient"\n[palette.{palette}]\nstops = ["red"]\n'


@pytest.mark.parametrize("where", ["show", "cue", "palette"])
def test_names_in_a_show_file(tmp_path, where):
    words = {"show": '"a"', "cue": '"a"', "palette": '"a"'} | {where: BAD}
    (tmp_path / "show.toml").write_text(SHOW.format(**words))
    with pytest.raises(InputError, match="printable characters, without") as caught:
        load_show(tmp_path / "show.toml")
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("[[line]]", f'[[feed]]\nname = {BAD}\nsupply = "garage"\nto = "front"\n[[line]]'),
        ("[[line]]", f"[group.{BAD}]\nof = []\n[[line]]"),
        (
            "[[line]]",
            "[buying]\ncurrency = '\x1b[31m'\n[[line]]".replace("'\x1b", '"\\u001b').replace(
                "m'", 'm"'
            ),
        ),
        ("[[line]]", f"[buying.prices]\n{BAD} = 3\n[[line]]"),
    ],
    ids=["feed", "group", "currency", "price"],
)
def test_names_in_a_house_file(tmp_path, old, new):
    assert old in HOUSE
    (tmp_path / "house.toml").write_text(HOUSE.replace(old, new, 1))
    with pytest.raises(InputError, match="printable characters, without"):
        load_house(tmp_path / "house.toml")


def test_names_in_an_almanac(tmp_path):
    (tmp_path / "almanac.toml").write_text(
        f"[almanac]\nname = {BAD}\nplace = {{ latitude = 1.0, longitude = 0.0, timezone = 'UTC' }}\n"
        f"[[rule]]\nname = {BAD}\nshow = 'a.toml'\non = 'friday'\n"
    )
    with pytest.raises(InputError, match="printable characters, without") as caught:
        load_almanac(tmp_path / "almanac.toml")
    assert len(caught.value.each) == 2


def test_a_reason_is_one_printable_line_of_at_most_300_characters():
    assert check_sentence("y" * 300) == "y" * 300
    with pytest.raises(InputError, match="has 301 characters; a sentence may have 300"):
        check_sentence("y" * 301)
    with pytest.raises(InputError, match="a sentence is one line of printable characters, without"):
        check_sentence("peak 0 A\nsupply  9 A")
