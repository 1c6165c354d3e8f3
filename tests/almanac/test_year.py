"""A year in words: runs of evenings that play the same, with the times between which they begin."""

from itertools import chain
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from lumenmap.almanac.tonight import row
from lumenmap.almanac.year import stretch_lines, stretches, year_pieces

UTC = ZoneInfo("UTC")
TWO = """
[[dim]]
from = "21:30"
to = "23:00"
brightness = 0.5
[[rule]]
name = "Weekends"
show = "a.toml"
on = "friday..sunday"
from = "sunset"
to = "22:30"
[[rule]]
name = "Carols"
show = "b.toml"
on = "12-18..12-20"
from = "20:00"
to = "00:15"
in_quiet_hours = true
priority = 1
"""


def words(book, year):
    rows = [row(book, piece, piece.show.stem) for piece in year_pieces(book, year)]
    return [line for run in stretches(rows) for line in stretch_lines(run, book.place.zone)]


def test_weekends_are_one_stretch_until_another_show_plays(almanac):
    """Sunset in New York: 16:28 on 8 December at the earliest, 20:31 late in June (from memory)."""
    lines = words(almanac(TWO), 2026)
    assert lines[:3] == [
        "2026-01-02 to 2026-12-13, 150 evenings: Weekends",
        "  16:29-20:31 to 21:30  a",
        "  21:30 to 22:30  a at 50 %",
    ]
    assert lines[3] == "2026-12-18 to 2026-12-20, 3 evenings: Weekends, Carols"
    assert lines[-3] == "2026-12-25 to 2026-12-27, 3 evenings: Weekends"


def test_an_evening_by_itself_is_a_date(almanac):
    one = '[[once]]\ndate = "2026-12-31"\nname = "New Year"\nshow = "a.toml"\nfrom = "22:00"\n'
    assert words(almanac(f'{one}to = "00:30"\nin_quiet_hours = true\n'), 2026) == [
        "2026-12-31: New Year",
        "  22:00 to 00:30  a",
    ]


@given(
    st.lists(
        st.lists(
            st.tuples(
                st.sampled_from(["a", "b"]),
                st.sampled_from([1.0, 0.5]),
                st.sampled_from(["16:00", "23:50", "00:10", "02:00"]),
            ),
            max_size=3,
        ),
        max_size=12,
    )
)
def test_no_evening_is_lost_and_each_stretch_plays_one_thing(evenings):
    rows = [
        {
            "date": f"2026-01-{day:02}",
            "rule": rule,
            "show": rule,
            "title": rule,
            "brightness": light,
        }
        | {"from": time, "to": time, "start": moment, "stop": moment}
        for day, evening in enumerate(evenings, 1)
        for rule, light, time in evening
        for moment in [f"2026-01-{day + (time < '12:00'):02}T{time}:00+00:00"]
    ]
    found = stretches(rows)
    assert list(chain.from_iterable(chain.from_iterable(found))) == rows
    for run in found:
        played = {tuple((r["show"], r["brightness"]) for r in evening) for evening in run}
        assert len(played) == 1
        for line, column in zip(stretch_lines(run, UTC)[1:], zip(*run, strict=True), strict=True):
            # In an evening's order midnight is in the middle.
            order = [
                t for t in ("16:00", "23:50", "00:10", "02:00") if t in {r["from"] for r in column}
            ]
            span = order[0] if len(order) == 1 else f"{order[0]}-{order[-1]}"
            assert line.startswith(f"  {span} to {span}  ")


def test_where_the_sun_stays_down_an_evening_may_begin_before_noon(almanac):
    """In Tromsø the sun is highest at 11:50 early in January and sets at 16:40 late in February
    (from memory)."""
    head = '[almanac]\nplace = { latitude = 69.65, longitude = 18.96, timezone = "Europe/Oslo" }'
    rule = '[[rule]]\nshow = "a.toml"\non = "01-05..02-28"\nto = "00:30"\n'
    assert words(almanac(rule, head=f"{head}\n"), 2026)[1] == "  11:50-16:40 to 00:30  a"
