"""A mistake in an almanac gets a sentence that names its place, and what is expected."""

import re

import pytest

from lumenmap.almanac.load import load_almanac
from lumenmap.almanac.times import parse_time
from lumenmap.core.errors import InputError

DAILY = '[[rule]]\nshow = "a.toml"\non = "every day"\n'


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("sunste", 'isn.t a time; did you mean "sunset"'),
        ("22.30", '"22.30" isn.t a time; write "22:30"$'),
        ("22h", 'isn.t a time; write "22:00"$'),
        ("2230", 'isn.t a time; write "22:30"$'),
        ("10.30pm", 'isn.t a time; write "10:30 pm"$'),
        ("25.00", "isn.t a time; expected a time such as"),
        ("midnight", 'write "24:00", or "00:00" where a day begins$'),
        ("25:00", "isn.t a clock time"),
        ("24:01", "isn.t a clock time"),
        ("12:60", "isn.t a clock time"),
        ("sunset + 13 h", "over 12 h away"),
        ("sunset + soon", "expected a quantity such as"),
        ("noonish + 1 h", "isn.t a time"),
        ("", "isn.t a time"),
        ("sunset; rm", "isn.t a time"),
        ("sunset - 15", 'has no unit; write "sunset - 15 min"'),
        ("22:00 + 1.5", 'has no unit; write "22:00 [+] 1.5 min"'),
        ("13:00 pm", "isn.t a clock time; expected 12:00 am to 11:59 pm"),
        ("0 am", "isn.t a clock time"),
        ("22", "isn.t a time"),
    ],
)
def test_times_that_are_none(text, match):
    with pytest.raises(InputError, match=match):
        parse_time(text)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("[[rule]]\non = 'friday'\n", r"almanac.toml: rule 1, show: is missing"),
        ("[[rule]]\nshow = '../x.toml'\non = 'friday'\n", "outside the almanac's folder"),
        ("[[rule]]\nshow = '/etc/passwd'\non = 'friday'\n", "outside the almanac's folder"),
        ("[[rule]]\nshow = 'a.toml'\non = 'fryday'\n", r'rule 1, on: "fryday" isn.t a day'),
        (
            "[[rule]]\nname='w'\nshow = 'a.toml'\non = ['friday', 'x']\n",
            r'rule "w", on item 2: "x"',
        ),
        ("[[rule]]\nshow = 'a.toml'\non = 'friday'\nfrom = 'noon'\n", r"rule 1, from: \"noon\""),
        (
            "[[rule]]\nshow = 'a.toml'\non = 'friday'\nbrightness = 2.0\n",
            "is 2.0; expected at most 1",
        ),
        ("[[rule]]\nshow = 'a.toml'\non = 'friday'\nbrightness = nan\n", "brightness"),
        ("[[rule]]\nshow = 'a.toml'\non = 'friday'\nform = '20:00'\n", "no such key; did you mean"),
        ("[[once]]\ndate = 'soon'\nshow = 'a.toml'\n", r'once 1, date: "soon" isn.t a day'),
        ("[[once]]\nname = 'Eve'\ndate = 'soon'\n", r'once "Eve", date: "soon" isn.t a day'),
        (
            "[[rule]]\nname = 'Garden evenings'\nshow = 'a.toml'\non = 'friday'\nfrom = 9\n",
            r'rule "Garden evenings", from: is 9',
        ),
        ("[[dim]]\nfrom = '8'\nto = '9:00'\nbrightness = 0.5\n", 'dim 1, from: "8" isn.t a time'),
        ("[[dim]]\nto = '9:00'\nbrightness = 0.5\n", "dim 1, from: is missing"),
        ("[[dim]]\nfrom = '20:00'\nto = '21:00'\nbrightness = 0\n", "dim"),
        (
            "[[quiet]]\nfrom = '23:00'\nto = '6:00'\n",
            r"\[\[quiet\]\] is for several; write \[quiet\]",
        ),
        ("[dim]\nfrom = '23:00'\nto = '6:00'\n", r"\[dim\] is one table; write \[\[dim\]\]"),
        ("rule = 3\n", "rule"),
        ("[[[", "isn't TOML"),
    ],
)
def test_malformed_almanac_is_refused_with_its_place(almanac, text, match):
    with pytest.raises(InputError, match=match):
        almanac(text)


@pytest.mark.parametrize(
    ("head", "match"),
    [
        ("[almanac]\n", "almanac.place: is missing"),
        ("[almanac]\nplace = { latitude = 91.0, longitude = 0.0, timezone = 'UTC' }\n", "latitude"),
        ("[almanac]\nplace = { latitude = nan, longitude = 0.0, timezone = 'UTC' }\n", "latitude"),
        (
            "[almanac]\nplace = { latitude = 1.0, longitude = 0.0, timezone = 'America/New_Yrk' }\n",
            'isn.t a time zone; did you mean "America/New_York"',
        ),
        (
            "[almanac]\nplace = { latitude = 1.0, longitude = 0.0, timezone = 'Central' }\n",
            'almanac.place.timezone: is "Central", which isn.t a time zone; '
            'did you mean "America/Chicago"',
        ),
        (
            "[almanac]\ncountry = 'USA'\n",
            'almanac.country: is "USA", which isn.t a country code; did you mean "US"',
        ),
        ("[almanac]\nhouse = '../house.toml'\n", "outside the almanac's folder"),
        ("[almanac]\nhouse = 'house.toml'\n", "house.toml: no such file"),
    ],
)
def test_place_that_cannot_be(almanac, head, match):
    with pytest.raises(InputError, match=match):
        almanac(DAILY, head)


def test_all_mistakes_of_an_almanac_at_once_each_with_its_line(tmp_path):
    (tmp_path / "almanac.toml").write_text(
        "[almanac]\nplace = { latitude = 1.0, longitude = 0.0, timezone = 'Central' }\n"
        "dark = ['12-24', 'fryday']\n[[rule]]\nshow = '../a.toml'\non = 'friday'\n"
        "from = 'sunste'\n[[dim]]\nfrom = '8'\nto = '23:00'\nbrightness = 0.5\n"
    )
    with pytest.raises(InputError) as caught:
        load_almanac(tmp_path / "almanac.toml")
    said = str(caught.value).splitlines()
    for line, key in enumerate(
        (
            "dim 1, from: .*line 9",
            "rule 1, show: .*line 5",
            "rule 1, from: .*line 7",
            "almanac.dark item 2: .*line 3",
            "almanac.place.timezone: .*line 2",
        ),
    ):
        assert re.search(key, said[line]), said
    assert len(said) == 5


def test_dates_and_times_of_toml_need_no_quotes(tmp_path):
    (tmp_path / "almanac.toml").write_text(
        "[almanac]\nplace = { latitude = 1.0, longitude = 0.0, timezone = 'UTC' }\n"
        "dark = 2026-12-24\n[[once]]\ndate = 2026-12-31\nshow = 'a.toml'\nto = 23:30:00\n"
    )
    book = load_almanac(tmp_path / "almanac.toml")
    assert [d.text for d in book.dark] == ["2026-12-24"]
    assert [d.text for d in book.rules[0].on] == ["2026-12-31"]
    assert book.rules[0].stop.text == "23:30"


@pytest.mark.parametrize("date", ["3", "[1]", "2026-12-31T20:00:00"])
def test_what_a_date_is_expected_to_be(tmp_path, date):
    (tmp_path / "almanac.toml").write_text(f"[almanac]\n[[once]]\ndate = {date}\n")
    with pytest.raises(InputError, match="once 1, date: is .*; expected a date such as 2026-06-05"):
        load_almanac(tmp_path / "almanac.toml")


def test_a_show_is_not_an_almanac(tmp_path):
    (tmp_path / "show.toml").write_text("[show]\nlength = '1 s'\n")
    with pytest.raises(InputError, match="is a show file; this command takes an almanac file"):
        load_almanac(tmp_path / "show.toml")
