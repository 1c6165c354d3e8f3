"""Evenings over both changes of the clock, and where the sun stays up or down.

Dates of the changes in 2026: the last Sundays of March and October at 01:00 UTC in the EU (Directive
2000/84/EC); the second Sunday of March and the first of November at 02:00 in the USA (Energy Policy
Act of 2005, section 110). Times a change skips or repeats: RFC 5545, 3.3.5.
"""

from datetime import date, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from lumenmap.almanac.tonight import tonight
from lumenmap.almanac.year import year_pieces

AMSTERDAM = 'latitude = 52.37, longitude = 4.90, timezone = "Europe/Amsterdam"'
ANGELES = 'latitude = 34.05, longitude = -118.24, timezone = "America/Los_Angeles"'
FAR_NORTH = 'latitude = 70.0, longitude = 25.0, timezone = "Europe/Oslo"'


@pytest.fixture
def at(almanac):
    """Make an almanac at a place with one rule for every day."""

    def make(place, start, stop, more=""):
        return almanac(
            f'[[rule]]\nshow = "a.toml"\non = "every day"\nfrom = "{start}"\nto = "{stop}"\n{more}',
            f"[almanac]\nplace = {{ {place} }}\n",
        )

    return make


def utc(book, day):
    return [f"{t:%dT%H:%M}" for p in book.evening(day)[0] for t in (p.start, p.stop)]


@pytest.mark.parametrize(
    ("place", "day", "start", "stop", "wanted"),
    [
        # Amsterdam is an hour before UTC in winter, two in summer.
        # Autumn: 25 October, 03:00 becomes 02:00; the first 02:30 is meant.
        (AMSTERDAM, (10, 24), "22:00", "04:00", ["24T20:00", "25T03:00"]),
        (AMSTERDAM, (10, 24), "22:00", "02:30", ["24T20:00", "25T00:30"]),
        (AMSTERDAM, (10, 25), "02:30", "04:00", ["25T00:30", "25T03:00"]),
        (AMSTERDAM, (10, 25), "02:15", "02:45", ["25T00:15", "25T00:45"]),
        (AMSTERDAM, (10, 24), "20:00", "24:00", ["24T18:00", "24T22:00"]),
        (AMSTERDAM, (10, 25), "20:00", "24:00", ["25T19:00", "25T23:00"]),
        (AMSTERDAM, (10, 25), "00:00", "24:00", ["24T22:00", "25T23:00"]),
        (AMSTERDAM, (10, 25), "02:45", "02:15", ["25T00:45", "26T01:15"]),
        # Spring: 29 March, 02:00 becomes 03:00; 02:30 is 03:30.
        (AMSTERDAM, (3, 28), "22:00", "04:00", ["28T21:00", "29T02:00"]),
        (AMSTERDAM, (3, 28), "22:00", "02:30", ["28T21:00", "29T01:30"]),
        (AMSTERDAM, (3, 29), "02:30", "04:00", ["29T01:30", "29T02:00"]),
        (AMSTERDAM, (3, 29), "02:15", "02:45", ["29T01:15", "29T01:45"]),
        (AMSTERDAM, (3, 29), "02:30", "03:00", []),
        (AMSTERDAM, (3, 29), "20:00", "24:00", ["29T18:00", "29T22:00"]),
        (AMSTERDAM, (3, 29), "00:00", "24:00", ["28T23:00", "29T22:00"]),
        # Los Angeles is 7 h behind in summer, 8 in winter. 1 November, 02:00 becomes 01:00.
        (ANGELES, (10, 31), "22:00", "03:00", ["01T05:00", "01T11:00"]),
        (ANGELES, (10, 31), "22:00", "01:30", ["01T05:00", "01T08:30"]),
        (ANGELES, (11, 1), "01:30", "03:00", ["01T08:30", "01T11:00"]),
        (ANGELES, (11, 1), "20:00", "24:00", ["02T04:00", "02T08:00"]),
        # 8 March, 02:00 becomes 03:00.
        (ANGELES, (3, 7), "22:00", "04:00", ["08T06:00", "08T11:00"]),
        (ANGELES, (3, 7), "22:00", "02:30", ["08T06:00", "08T10:30"]),
        (ANGELES, (3, 8), "02:30", "03:00", []),
        (ANGELES, (3, 8), "20:00", "24:00", ["09T03:00", "09T07:00"]),
    ],
)
def test_evening_over_a_change_of_the_clock(at, place, day, start, stop, wanted):
    book = at(place, start, stop)
    day = date(2026, *day)
    assert utc(book, day) == wanted
    notes = book.evening(day)[1]
    assert notes == ([] if wanted else [f"a: the change of clocks skips {start} to {stop}"])


@pytest.mark.parametrize("place", [AMSTERDAM, ANGELES])
@pytest.mark.parametrize(
    "hours",
    [
        ("22:00", "02:30"),
        ("01:30", "02:30"),
        ("02:00", "03:00"),
        ("sunset", "01:30"),
        ("02:30", "01:30"),
        ("00:00", "24:00"),
    ],
)
def test_no_moment_of_a_year_is_played_twice_or_on_two_evenings(at, place, hours):
    book = at(place, *hours)
    pieces = year_pieces(book, 2026)
    assert 364 <= len(pieces) <= 365, "an evening may fall into the skipped hour, once"
    for a, b in pairwise(pieces):
        assert a.start < a.stop <= b.start
    for piece in pieces:
        middle = piece.start + (piece.stop - piece.start) / 2
        assert book.at(piece.start) == book.at(middle) == piece
        assert book.next(piece.start - timedelta(seconds=1)) == piece


def test_quiet_and_dimmed_hours_over_the_autumn_change(at):
    """Quiet from 02:00 to 03:00 lasts two hours in that night, and nothing plays in either."""
    book = at(
        AMSTERDAM,
        "22:00",
        "05:00",
        '[quiet]\nfrom = "02:00"\nto = "03:00"\n'
        '[[dim]]\nfrom = "23:00"\nto = "24:00"\nbrightness = 0.5\n',
    )
    pieces, _ = book.evening(date(2026, 10, 24))
    assert [(f"{p.start:%H:%M}", f"{p.stop:%H:%M}", p.brightness) for p in pieces] == [
        ("20:00", "21:00", 1.0),
        ("21:00", "22:00", 0.5),
        ("22:00", "00:00", 1.0),
        ("02:00", "04:00", 1.0),
    ]


@pytest.mark.parametrize(
    ("start", "stop", "summer", "winter"),
    [
        # Amsterdam: sunset 22:06 and sunrise 05:18 at midsummer, 16:29 and 08:48 at midwinter
        # (computed; tests of the sun hold them to published tables).
        ("sunset", "22:00", None, 5.5),
        ("sunset", "23:00", 0.9, 6.5),
        ("sunset", "01:30", 3.4, 9),
        ("sunset", "17:00", None, 0.5),
        ("05:00", "sunrise", 0.3, 3.8),
        ("sunrise", "06:00", 0.7, None),
        ("22:00", "sunrise", 7.3, 10.8),
        ("17:00", "sunset", 5.1, None),
        ("dawn", "sunrise", 0.8, 0.7),
        ("sunset", "dusk", 0.8, 0.7),
        ("sunset + 2 h", "00:30", 0.4, 6),
    ],
)
def test_what_is_over_before_it_begins_is_not_a_night_and_a_day(at, start, stop, summer, winter):
    book = at(AMSTERDAM, start, stop)
    for day, hours in ((date(2026, 6, 21), summer), (date(2026, 12, 21), winter)):
        pieces, notes = book.evening(day)
        got = [(p.stop - p.start) / timedelta(hours=1) for p in pieces]
        assert got == ([] if hours is None else [pytest.approx(hours, abs=0.06)])
        assert notes == ([f"a: {start} is after {stop} on this day"] if hours is None else [])


def local(piece):
    return [f"{t.astimezone(ZoneInfo('Europe/Oslo')):%d %H:%M}" for t in (piece.start, piece.stop)]


def test_house_at_seventy_north_in_june(at):
    """The sun is up from mid-May to the end of July; clock times are played all the same."""
    june = date(2026, 6, 21)
    for start, stop, sun in (
        ("sunset", "23:00", "sunset"),
        ("dusk", "02:00", "dusk"),
        ("20:00", "sunrise", "sunrise"),
    ):
        pieces, notes = at(FAR_NORTH, start, stop).evening(june)
        assert pieces == [] and notes == [f"a: the sun doesn't set ({sun})"]
    assert local(at(FAR_NORTH, "20:00", "23:30").evening(june)[0][0]) == ["21 20:00", "21 23:30"]
    book = at(FAR_NORTH, "sunset", "23:00")
    _, lines = tonight(book, june)
    assert "the sun doesn't set" in lines[0] and "not played" in lines[1]
    assert "nothing plays; next is " in lines[2]


def test_house_at_seventy_north_in_december(at):
    """The sun stays down: it is dark from its highest, at 11:18, and civil dusk still comes."""
    december = date(2026, 12, 21)
    (whole,), notes = at(FAR_NORTH, "sunset", "sunrise").evening(december)
    assert local(whole) == ["21 11:18", "22 11:18"] and not notes
    assert local(at(FAR_NORTH, "sunset", "23:00").evening(december)[0][0])[0] == "21 11:18"
    assert local(at(FAR_NORTH, "06:00", "sunrise").evening(december)[0][0])[1] == "21 11:18"
    (twilight,), _ = at(FAR_NORTH, "dawn", "dusk").evening(december)
    assert timedelta(hours=4) < twilight.stop - twilight.start < timedelta(hours=4.3)
    _, lines = tonight(at(FAR_NORTH, "sunset", "23:00"), december)
    assert "the sun doesn't rise" in lines[0]


@pytest.mark.parametrize(
    "hours",
    [
        ("sunset", "23:00"),
        ("dusk", "dawn"),
        ("sunset", "01:00"),
        ("sunset", "sunrise"),
        ("06:00", "sunrise"),
    ],
)
def test_year_at_seventy_north_has_no_evening_of_more_than_a_day(at, hours):
    """In the days round the midnight sun it sets after midnight."""
    book = at(FAR_NORTH, *hours)
    pieces = year_pieces(book, 2026)
    assert 150 < len(pieces) < 365
    for a, b in pairwise(pieces):
        assert a.start < a.stop <= b.start
    # A night of the winter lasts from one noon to the next: a day, and half a minute by season.
    longest = max(p.stop - p.start for p in pieces)
    assert longest < timedelta(hours=24, minutes=1)
    early = [p for p in pieces if local(p)[0][3:5] in ("00", "01")]
    assert all(p.stop - p.start < timedelta(hours=3) for p in early)
