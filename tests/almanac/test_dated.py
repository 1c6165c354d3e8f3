"""Choices of one date, of dates from one to another, of days of every year: which of them counts."""

from datetime import date, datetime

import pytest
from dateutil.rrule import DAILY, rrule
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.almanac.dated import Span, dated, nearness
from lumenmap.almanac.days import parse_days

DATES = st.dates(date(2024, 1, 1), date(2029, 12, 31))
SPANS = st.tuples(DATES, st.integers(0, 70)).map(
    lambda t: Span(t[0], date.fromordinal(t[0].toordinal() + t[1]))
)


def listed(span):
    """The days of a span, by dateutil's recurrence rules (RFC 5545)."""
    ends = (datetime(*d.timetuple()[:3]) for d in (span.first, span.last))
    return [d.date() for d in rrule(DAILY, dtstart=next(ends), until=next(ends))]


@given(SPANS)
def test_a_spans_days_are_those_of_a_calendar(span):
    """dateutil's, across months, years and leap days."""
    assert list(span) == listed(span) and len(span) == len(listed(span))
    days = parse_days(span.text)
    around = listed(Span(date(2023, 12, 31), date(2030, 12, 31)))
    assert [d for d in around if d in days] == list(span) == [d for d in around if d in span]
    assert dated(span.text) == span


@given(SPANS, SPANS)
def test_what_is_left_of_a_span(one, other):
    left = one.without(other)
    assert [d for part in left for d in part] == [d for d in one if d not in other]
    assert all(left) and len(left) <= 2


@pytest.mark.parametrize(
    ("written", "near"),
    [
        (date(2026, 12, 24), 2),
        ("2026-12-24", 2),
        (" 2026-12-24 .. 2026-12-24 ", 2),
        ("2026-12-29..2027-01-03", 1),
        ("2026-12-29 ..2027-01-03", 1),
        ("12-24", 0),
        ("12-24..01-06", 0),
        ("friday", 0),
        ("2026-02-30", 0),
        ("2026-12-24..friday", 0),
        (None, 0),
        (7, 0),
    ],
)
def test_what_has_a_date(written, near):
    assert nearness(written) == near and (dated(written) is not None) == (near > 0)


RULES = """
[[rule]]
name = "winter"
show = "frost.toml"
on = "every day"
from = "18:00"
to = "22:00"
"""


def once(day, show=None, start="18:00", stop="22:00"):
    plays = f'show = "{show}.toml"\nfrom = "{start}"\nto = "{stop}"\n' if show else ""
    return f'[[once]]\ndate = "{day}"\n{plays}'


AWAY = once("2026-12-20..2026-12-27")
YEARLY = once("12-24", "eve")


@pytest.mark.parametrize(
    ("tables", "plays"),
    [
        ([], {"12-24": "frost"}),
        ([AWAY], {"12-19": "frost", "12-20": "", "12-24": "", "12-27": "", "12-28": "frost"}),
        # One date comes before dates from one to another, in whatever order they are written.
        ([AWAY, once("2026-12-24", "party")], {"12-23": "", "12-24": "party", "12-25": ""}),
        ([once("2026-12-24", "party"), AWAY], {"12-23": "", "12-24": "party", "12-25": ""}),
        (
            [once("2026-12-20..2026-12-27", "snow"), once("2026-12-24")],
            {"12-24": "", "12-25": "snow"},
        ),
        # Both come before days of every year, though these are dark.
        ([YEARLY], {"12-24": "eve", "12-25": "frost"}),
        ([AWAY, YEARLY], {"12-24": ""}),
        ([YEARLY, once("2026-12-24")], {"12-24": ""}),
        ([once("12-24"), once("2026-12-23..2026-12-24", "snow")], {"12-24": "snow"}),
        ([once("friday"), once("2026-12-25", "snow")], {"12-18": "", "12-25": "snow"}),
        # Of one kind, those with a show play.
        ([once("2026-12-24"), once("2026-12-24", "snow")], {"12-24": "snow"}),
        ([AWAY, once("2026-12-26..2026-12-30", "snow")], {"12-25": "", "12-26": "snow"}),
    ],
)
def test_which_of_several_tables_counts(almanac, tables, plays):
    made = almanac(RULES + "".join(tables))
    for day, show in plays.items():
        pieces = made.evening(date.fromisoformat(f"2026-{day}"))[0]
        assert [p.show.stem for p in pieces] == ([show] if show else []), day


def test_two_shows_of_one_date_share_its_evening(almanac):
    tables = once("2026-12-24", "eve", stop="20:00") + once("2026-12-24", "snow", start="20:00")
    pieces = almanac(RULES + tables).evening(date(2026, 12, 24))[0]
    assert [p.show.stem for p in pieces] == ["eve", "snow"]


def test_an_evening_past_midnight_isnt_cut_by_a_dark_day(almanac):
    late = RULES.replace('"22:00"', '"01:30"')
    made = almanac(late + once("2026-12-24"))
    (piece,) = made.evening(date(2026, 12, 23))[0]
    assert (piece.stop - piece.start).total_seconds() == 7.5 * 3600
    assert not made.evening(date(2026, 12, 24))[0]


def test_the_quiet_hours_of_a_chosen_evening(almanac):
    quiet = '[quiet]\nfrom = "21:00"\nto = "06:00"\n'
    made = almanac(quiet + RULES + once("2026-12-24", "snow"))
    ((rule, start, stop),) = made.hushed(date(2026, 12, 24))
    assert rule.show.stem == "snow" and (stop - start).total_seconds() == 3600
    assert not made.hushed(date(2026, 12, 25)), "what a rule loses isn't told"
    assert "lies in the quiet hours" in made.evening(date(2026, 12, 24))[1][0]
