"""Tonight among other evenings that were chosen; and when tonight is which."""

import pytest

from lumenmap.core.errors import InputError
from lumenmap.desk.wire.asked import Choose, Dark, UndoEvening
from tests.desk.conftest import ALMANAC
from tests.desk.evenings.person import Days, at


def test_tonight_in_a_span_that_was_chosen(days):
    """What is chosen for tonight comes before what was chosen for the days around it."""
    days.choose("2026-11-25", "2026-11-28", what="dark")
    before, told = days.text, days.tell()
    assert (
        told.dark
        and told.changed
        and told.sentence == "Dark tonight, chosen from 25 to 28 November."
    )
    told = days.do(Dark, dark=False)
    assert not told.dark and told.sentence.startswith("First Try from 16:23 to 22:30")
    assert days.shows("2026-11-25", "2026-11-26") == ["show", ""]
    days.do(Dark, dark=True)
    assert days.tell().dark and days.shows("2026-11-25", "2026-11-25") == [""]
    days.do(Dark, dark=False)
    assert days.shows("2026-11-25", "2026-11-26") == ["show", ""]
    days.do(UndoEvening)
    assert days.text == before
    days.do(Choose, file="other.toml")
    assert days.shows("2026-11-25", "2026-11-26") == ["other", ""]


def test_dark_for_a_reason_says_so(days):
    """Whoever chose it, weeks ago, may have forgotten."""
    days.choose("2026-11-25", "2026-11-28", what="dark", name="Away")
    assert days.tell().sentence == "Dark tonight, chosen from 25 to 28 November: Away."
    days.choose("2026-11-25", what="dark", name="Stars")
    assert days.tell().sentence == "Dark tonight: Stars."


@pytest.mark.parametrize("written", ["2026-11-25..2026-11-25", " 2026-11-25"])
def test_a_date_alone_however_it_is_written(house, written):
    """What somebody wrote as dates from one to the same is that evening's own: dark replaces it."""
    once = f'\n[[once]]\ndate = "{written}"\nshow = "other.toml"\n'
    days = Days(house, ALMANAC + once)
    assert days.do(Dark, dark=True).dark
    assert days.shows("2026-11-25", "2026-11-25") == [""] and len(days.once) == 1
    days.do(UndoEvening)
    assert days.text == ALMANAC + once


def test_light_again_lights_whatever_made_it_dark(days):
    days.choose("2026-11-25", "2026-11-28", what="dark")
    days.do(Dark, dark=True)  # it is dark already
    days.do(Dark, dark=False)
    assert days.shows("2026-11-25", "2026-11-26") == ["show", ""]


def test_light_again_is_what_was_chosen_for_the_days_around(days):
    days.choose("2026-11-25", "2026-11-28")
    days.do(Dark, dark=True)
    days.choose("2026-12-24")  # so that the dark isn't the last that was done
    days.do(Dark, dark=False)
    assert days.shows("2026-11-25", "2026-11-26") == ["other", "other"]


def test_tonight_in_a_dark_span_that_no_rule_lights(house):
    days = Days(house, ALMANAC.replace("monday..sunday", "12-01..12-31"))
    days.choose("2026-11-25", "2026-11-28", what="dark")
    with pytest.raises(InputError, match="nothing else is planned for tonight; choose a show"):
        days.do(Dark, dark=False)


def test_what_plays_now_changes_by_itself(days):
    assert days.coming()["2026-11-25"].pieces[0].on_now
    days.time = at("2026-11-25 22:00")
    assert [p.on_now for p in days.coming()["2026-11-25"].pieces] == [False, True]


def test_after_midnight_last_evening_is_still_tonight(house):
    days = Days(house, ALMANAC.replace('to = "22:30"', 'to = "01:00"'))
    days.time = at("2026-11-26 00:30")
    assert days.evening.coming(None, 3).tonight == "2026-11-25"
    days.choose("2026-11-26", what="dark")
    assert days.plays("2026-11-26 00:40") == ("show.toml", 1.0)
    assert days.plays("2026-11-26 18:00") is None
