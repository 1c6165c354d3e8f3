"""Tonight's choice, as tables that go into the almanac."""

import tomllib
from datetime import UTC, date, datetime, timedelta

import pytest

from lumenmap.almanac.choice import (
    Choice,
    another_show,
    as_bright,
    chosen,
    light_now,
    planned,
    stretches,
    tonight_date,
)
from lumenmap.almanac.load import almanac_from
from lumenmap.almanac.tonight import row
from lumenmap.core.errors import InputError

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


def test_each_rules_own_stretch(book, data):
    hour = {
        "date": "2026-11-26",
        "name": "hour",
        "show": "tea.toml",
        "from": "19:00",
        "to": "20:00",
        "in_quiet_hours": True,
    }
    once = [{**hour, "show": "waves.toml", "name": "long", "from": "dusk", "to": "23:00"}, hour]
    found = stretches(book(once), DAY)
    assert [(c.show, c.start, c.stop, c.quiet, c.name) for c in found] == [
        ("waves.toml", "dusk", "23:00", True, "long"),
        ("tea.toml", "19:00", "20:00", True, "hour"),
    ]
    again = book(chosen([], DAY, found))
    assert again.evening(DAY)[0] == book(once).evening(DAY)[0], "written again it is the same"


def test_a_stretch_that_quiet_hours_cut_short_has_a_time_by_the_clock(data, tmp_path):
    cut = almanac_from({**data, "quiet": {"from": "23:00", "to": "05:00"}}, tmp_path / "a.toml")
    assert [(c.start, c.stop) for c in stretches(cut, DAY)] == [("dusk", "23:00")]


def test_another_show_plays_as_long_and_as_brightly_as_the_rules(book):
    made = another_show(book(), NINE, "waves.toml")
    assert made == Choice("waves.toml", 0.8, "dusk", "00:30")
    assert another_show(book(), NINE, "waves.toml", "23:15").stop == "23:15"
    over = datetime(2026, 11, 27, 6, tzinfo=UTC)
    with pytest.raises(InputError, match="tonight ended at 00:30; choose until when"):
        another_show(book(), over, "waves.toml")
    with pytest.raises(InputError, match="isn't a time"):
        another_show(book(), NINE, "waves.toml", "late")


def test_brighter_and_darker(book, data):
    assert as_bright(book(), NINE, 0.3) == [
        Choice("frost.toml", 0.3, "dusk", "00:30", name="winter")
    ]
    dark = book(chosen(data["once"], DAY, Choice(None)))
    with pytest.raises(InputError, match="nothing plays tonight; choose a show first"):
        as_bright(dark, NINE, 0.5)


def test_a_light_that_burns_all_day_is_turned_off_and_on_after_midnight(data, tmp_path):
    all_day = {"show": "frost.toml", "on": "every day", "from": "00:00", "to": "24:00"}
    plain = {k: v for k, v in data.items() if k not in ("quiet", "dim", "once")}

    def book(once):
        return almanac_from({**plain, "rule": [all_day], "once": once}, tmp_path / "a.toml")

    early = datetime(2026, 11, 26, 5, 14, tzinfo=UTC)  # 00:14 in New York
    assert tonight_date(book([]), early) == DAY
    dark = chosen([], DAY, Choice(None))
    assert book(dark).at(early) is None and tonight_date(book(dark), early) == DAY
    assert book(chosen(dark, DAY, Choice("frost.toml", 0.5, "00:00", "24:00"))).at(early)


COUNTED = """
[almanac]
place = { latitude = 40.71, longitude = -74.01, timezone = "America/New_York" }
[[rule]]
name = "Eight candles"
show = "candles.toml"
on = "2026-12-04..2026-12-11"
values = { candles = "night", share = 0.5 }
[[once]]
name = "Feast"
date = "2026-12-20..2026-12-23"
show = "candles.toml"
from = "17:00"
to = "20:00"
[[once]]
name = "Feast"
date = 2026-12-24
show = "candles.toml"
from = "18:00"
to = "21:00"
"""


def test_a_dimmed_evening_keeps_what_its_rule_counts(tmp_path):
    data = tomllib.loads(COUNTED)
    book = almanac_from(data, tmp_path / "almanac.toml")
    third = datetime(2026, 12, 7, 1, tzinfo=UTC)
    assert dict(book.at(third).values) == {"candles": 3, "share": 0.5}
    once = chosen(data["once"], date(2026, 12, 6), as_bright(book, third, 0.3))
    assert once[-1]["values"] == {"candles": 3, "share": 0.5}
    piece = almanac_from({**data, "once": once}, book.file).at(third)
    assert dict(piece.values) == {"candles": 3, "share": 0.5} and piece.brightness == 0.3
    assert another_show(book, third, "candles.toml", "22:00").values
    assert not another_show(book, third, "frost.toml").values, "another show hasn't these values"
    assert not light_now(book, third, "frost.toml").values


def test_of_two_choices_of_one_name_each_evening_has_its_own(tmp_path):
    book = almanac_from(tomllib.loads(COUNTED), tmp_path / "almanac.toml")
    assert [stretches(book, date(2026, 12, d))[0].start for d in (22, 24)] == ["17:00", "18:00"]


REYKJAVIK = """
[almanac]
place = { latitude = 64.15, longitude = -21.94, timezone = "Atlantic/Reykjavik" }
[[rule]]
name = "summer"
show = "frost.toml"
on = "every day"
to = "sunrise"
"""


def test_an_evening_that_begins_after_midnight_is_of_the_day_before(tmp_path):
    """Around midsummer the sun sets after midnight in Reykjavik; astral says so too."""
    astral_sun = pytest.importorskip("astral.sun")
    observer = pytest.importorskip("astral").Observer(64.15, -21.94)
    set_on_21st = astral_sun.sunset(observer, date(2026, 6, 21))
    book = almanac_from(tomllib.loads(REYKJAVIK), tmp_path / "almanac.toml")
    days = [date(2026, 6, 1) + timedelta(days=i) for i in range(60)]
    for day in days:
        (piece,) = book.evening(day)[0]
        assert piece.day == tonight_date(book, piece.start) == day
        assert row(book, piece, "")["date"] == str(day)
    begun = book.evening(date(2026, 6, 20))[0][0].start
    assert begun.date() == date(2026, 6, 21) and abs(begun - set_on_21st) < timedelta(minutes=5)
    once = chosen([], tonight_date(book, begun), Choice(None))
    dark = almanac_from({**tomllib.loads(REYKJAVIK), "once": once}, book.file)
    assert dark.at(begun) is None, "who turns it off then turns this evening off"
