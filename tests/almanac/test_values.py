"""What an evening gives a show: the night of the feast, the year, the days left."""

from datetime import date

import pytest

from lumenmap.almanac.days import parse_days
from lumenmap.almanac.load import load_almanac
from lumenmap.almanac.tonight import tonight
from lumenmap.almanac.values import night, parse_count
from lumenmap.core.errors import InputError

BOOK = """
[almanac]
place = { latitude = 44, longitude = -121, timezone = "America/Los_Angeles" }
[[rule]]
show = "candles.toml"
on = "hanukkah"
values = { candles = "night", year = "year" }
[[rule]]
show = "days.toml"
on = "12-20..12-24"
days_before = 1
values = { left = "days until 12-25", most = 3 }
priority = 5
"""


@pytest.fixture
def book(tmp_path):
    def read(text: str = BOOK):
        (tmp_path / "almanac.toml").write_text(text)
        return load_almanac(tmp_path / "almanac.toml")

    return read


def test_each_night_of_the_feast_has_its_number(book):
    """Hanukkah 5787: the first candle on the evening of 4 December 2026 (pyluach agrees)."""
    pyluach = pytest.importorskip("pyluach.dates")
    first = pyluach.HebrewDate(5787, 9, 25).to_pydate()
    evenings = [book().evening(date(2026, 12, d))[0] for d in range(3, 13)]
    seen = [dict(pieces[0].values).get("candles") if pieces else None for pieces in evenings]
    assert seen == [None, 1, 2, 3, 4, 5, 6, 7, 8, None]
    assert (first - date(2026, 12, 4)).days == 1
    assert dict(evenings[1][0].values)["year"] == 2026


def test_days_left_until_a_date(book):
    left = [dict(book().evening(date(2026, 12, d))[0][0].values)["left"] for d in (19, 20, 24)]
    assert left == [6, 5, 1]
    assert dict(book().evening(date(2026, 12, 20))[0][0].values)["most"] == 3


def test_the_night_counts_over_the_new_year_and_around_the_feast():
    season = [parse_days("12-30..01-02")]
    assert [night(date(2026, 12, d), season) for d in (29, 30, 31)] == [0, 1, 2]
    assert [night(date(2027, 1, d), season) for d in (1, 2, 3)] == [3, 4, 5]


def test_tonight_says_the_values(book):
    report, lines = tonight(book(), date(2026, 12, 6))
    assert report["pieces"][0]["values"] == {"candles": 3, "year": 2026}
    assert any("candles, candles 3, year 2026" in line for line in lines)


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("nigth", 'is "nigth"; did you mean "night"'),
        ("candles", 'is "candles"; expected "night", "year", "days until 12-25" or a number'),
        ("days until 13-45", "isn't a date|isn't a day|13-45"),
        (True, "is true; expected"),
    ],
)
def test_mistakes_of_values_are_said(written, says):
    with pytest.raises(InputError, match=says):
        parse_count(written)


def test_a_mistake_is_found_at_its_key(book):
    with pytest.raises(InputError, match=r'rule 1, values.candles: is "nigt"'):
        book(BOOK.replace('"night"', '"nigt"'))


@pytest.mark.parametrize(("goal", "day", "left"), [
    ("2026-11-26", date(2026, 11, 25), 1),
    ("2026-11-26", date(2026, 11, 26), 0),
    ("2026-11-26", date(2026, 11, 27), 0),
    ("2030-06-01", date(2026, 11, 27), 1282),  # by the standard library's dates
    ("fifth friday of february", date(2025, 3, 1), 4017),  # 29 February 2036 is a Friday
    ("RRULE:FREQ=YEARLY;UNTIL=20260101", date(2026, 11, 27), 0),
])  # fmt: skip
def test_a_countdown_that_has_ended_stays_at_nothing(book, goal, day, left):
    """The evening after the day goes on: whoever lets it play for years doesn't come to edit."""
    text = BOOK.replace('on = "12-20..12-24"', 'on = "every day"').replace("12-25", goal)
    pieces, _ = book(text).evening(day)
    assert dict(pieces[0].values)["left"] == left
    said = [line for line in tonight(book(text), day)[1] if "stays 0" in line]
    ended = f'  days: "days until {goal}" stays 0, since that day won\'t come again'
    assert said == ([] if left or day == date(2026, 11, 26) else [ended])
