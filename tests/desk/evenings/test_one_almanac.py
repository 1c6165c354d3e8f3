"""One almanac, told in many ways: the calendar's evenings are those of the year's table and the board's.

What plays at a moment, which `lumenmap run` and hubs go by, is asked of the same almanac by itself.
"""

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lumenmap.almanac.load import load_almanac
from lumenmap.almanac.rules import Rule
from lumenmap.almanac.tonight import row, tonight
from lumenmap.almanac.year import year_pieces
from lumenmap.jobs.board import pieces_of
from tests.desk.conftest import ALMANAC
from tests.desk.evenings.person import Days, day

HEAD = ALMANAC.split("[[dim]]")[0]
FIRST = day("2026-12-20")  # the new year lies in what is looked at
DAYS = st.integers(0, 20).map(lambda n: FIRST + timedelta(days=n))
DATES = st.one_of(
    DAYS.map(str),
    st.tuples(DAYS, st.integers(0, 6)).map(lambda t: f"{t[0]}..{t[0] + timedelta(days=t[1])}"),
    DAYS.map(lambda d: f"{d:%m-%d}"),
)
HOURS = st.sampled_from(
    [
        ("sunset", "22:30"),
        ("17:00", "01:30"),
        ("00:30", "03:00"),
        ("dusk", "sunrise"),
        ("22:00", "23:00"),
    ]
)
BRIGHT = st.sampled_from([1, 0.5, 0.25])


def _hours(hours):
    return f'from = "{hours[0]}"\nto = "{hours[1]}"\n'


RULE = st.builds(
    lambda n, on, hours, bright, priority: (
        f'[[rule]]\nname = "Rule {n}"\nshow = "{("show", "other")[n % 2]}.toml"\non = "{on}"\n'
        f"brightness = {bright}\npriority = {priority}\n{_hours(hours)}"
    ),
    st.integers(0, 9),
    st.sampled_from(["monday..sunday", "weekend", "12-24..01-06", "01-01", "2026-12-31"]),
    HOURS,
    BRIGHT,
    st.integers(0, 2),
)
SHOWN = st.builds(
    lambda on, hours, bright, quiet: (
        f'[[once]]\ndate = "{on}"\nshow = "other.toml"\nbrightness = {bright}\n'
        f"in_quiet_hours = {str(quiet).lower()}\n{_hours(hours)}"
    ),
    DATES,
    HOURS,
    BRIGHT,
    st.booleans(),
)
DARK = DATES.map(lambda on: f'[[once]]\ndate = "{on}"\n')
QUIET = st.sampled_from(["", '[quiet]\nfrom = "23:00"\nto = "06:00"\n'])
DIM = st.sampled_from(["", '[[dim]]\nfrom = "21:30"\nto = "23:00"\nbrightness = 0.5\n'])
ALMANACS = st.builds(
    lambda quiet, dim, tables: "\n".join([HEAD, quiet, dim, *tables]),
    QUIET,
    DIM,
    st.lists(st.one_of(RULE, SHOWN, DARK), max_size=7),
)


def _told(rows):
    keys = ("from", "to", "rule", "show", "brightness")
    return [tuple(r[key] for key in keys) for r in rows]


@pytest.mark.long
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(ALMANACS)
def test_all_say_the_same(house, text):
    """The evenings of a calendar, of the year's table, of the board's and of tonight's words."""
    days = Days(house, text)
    almanac = load_almanac(days.path)
    pieces = [p for year in (2026, 2027) for p in year_pieces(almanac, year)]
    board = [p for year in (2026, 2027) for p in pieces_of(almanac, year)[0]]
    rows = [row(almanac, p, p.show.stem) for p in pieces]
    for told in days.coming(34, "2026-12-18").values():
        mine = [(p.start, p.stop, p.rule, p.file, p.brightness) for p in told.pieces]
        assert mine == _told(r for r in rows if r["date"] == told.date)
        assert mine == _told(tonight(almanac, day(told.date))[0]["pieces"])
        assert not (told.dark and mine) and (mine or told.by != "rule")
    assert {(p.start, p.show) for p in board} >= {(p.start, p.show) for p in pieces}
    for piece in (p for p in pieces if FIRST <= almanac.today(p.begun) <= day("2027-01-09")):
        middle = piece.start + (piece.stop - piece.start) / 2
        assert almanac.at(middle) == piece


def test_dozens_of_days_are_asked_once_a_day(house, monkeypatch):
    """A wish for a year, of an almanac with a hundred dates, doesn't keep all others waiting."""
    once = "".join(
        f'\n[[once]]\ndate = "2027-{month:02}-{n:02}"\nshow = "other.toml"\n'
        for month in (1, 2, 3, 11)
        for n in range(1, 26)
    )
    days, asked = Days(house, ALMANAC + once), []
    applies = Rule.applies
    monkeypatch.setattr(Rule, "applies", lambda rule, d: asked.append(d) or applies(rule, d))
    days.ask("2026-11-26", "2027-11-25")
    assert len(days.once) == 100
    # Three almanacs: as it is, by its rules alone, and with what is wanted.
    assert len(asked) < 3 * 101 * 370
