"""Tonight's choice, as tables that go into the almanac."""

import tomllib
from datetime import UTC, date, datetime

import pytest

from lumenmap.almanac.choice import Choice, chosen, light_now, planned, tonight_date
from lumenmap.almanac.load import almanac_from

RULES = """
[almanac]
place = { latitude = 40.71, longitude = -74.01, timezone = "America/New_York" }
[quiet]
from = "01:00"
to = "05:00"
[[dim]]
from = "22:00"
to = "23:59"
brightness = 0.5
[[rule]]
name = "winter"
show = "frost.toml"
on = "11-20..01-06"
from = "dusk"
to = "00:30"
brightness = 0.8
[[once]]
date = 2026-12-24
show = "eve.toml"
"""
#: 26 November 2026: at noon, at nine in the evening, and after midnight, New York.
NOON = datetime(2026, 11, 26, 17, tzinfo=UTC)
NINE = datetime(2026, 11, 27, 2, tzinfo=UTC)
LATE = datetime(2026, 11, 27, 5, 15, tzinfo=UTC)
DAY = date(2026, 11, 26)


@pytest.fixture
def data():
    return tomllib.loads(RULES)


@pytest.fixture
def book(data, tmp_path):
    return lambda once=None: almanac_from(
        {**data, "once": data["once"] if once is None else once}, tmp_path / "almanac.toml"
    )


@pytest.mark.parametrize("moment", [NOON, NINE, LATE])
def test_tonight_lasts_until_it_is_over(book, moment):
    assert tonight_date(book(), moment) == DAY
    assert planned(book(), moment) == Choice("frost.toml", 0.8, "dusk", "00:30")


def test_another_show_at_the_same_hours_and_brightness(book, data):
    once = chosen(data["once"], DAY, light_now(book(), NINE, "waves.toml"))
    changed = book(once)
    before, after = book().at(NINE), changed.at(NINE)
    assert after.show.name == "waves.toml" and after.begun == before.begun
    assert (after.stop, after.brightness) == (before.stop, before.brightness)
    assert once[0] == data["once"][0], "other days stay as they are"
    assert len(chosen(once, DAY, Choice("c.toml"))) == 2, "a day has one choice"


def test_dimmed_dark_and_taken_back(book, data):
    found = planned(book(), NINE)
    once = chosen(data["once"], DAY, Choice(found.show, 0.25, found.start, found.stop))
    assert book(once).at(NINE).brightness == 0.25 and book(once).at(NINE).show.name == "frost.toml"
    dark = chosen(once, DAY, Choice(None))
    assert book(dark).at(NINE) is None and dark[1] == {"date": "2026-11-26"}
    assert tonight_date(book(dark), LATE) == DAY, "turned off, it is still tonight"
    assert planned(book(dark), NINE) == Choice(None)
    assert chosen(dark, DAY, None) == data["once"] and book().at(NINE) is not None


def test_light_at_an_hour_at_which_nothing_plays(book, data):
    once = chosen(data["once"], DAY, light_now(book(), NOON, "tea.toml", hours=2))
    piece = book(once).at(NOON)
    assert piece.show.name == "tea.toml" and (piece.stop - NOON).total_seconds() == 7200
    assert book(once).at(NINE) is None, "a one-off day is all that plays"


def test_a_choice_goes_through_the_quiet_hours_only_where_its_rule_does(book, data):
    once = chosen([], DAY, Choice("late.toml", stop="03:00"))
    assert book(once).at(datetime(2026, 11, 27, 7, tzinfo=UTC)) is None
    once = chosen([], DAY, Choice("late.toml", stop="03:00", quiet=True))
    assert book(once).at(datetime(2026, 11, 27, 7, tzinfo=UTC)) is not None
