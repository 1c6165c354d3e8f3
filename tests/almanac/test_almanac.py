from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from lumenmap.almanac.ics import calendar
from lumenmap.almanac.load import load_almanac
from lumenmap.almanac.times import parse_time
from lumenmap.almanac.tonight import parse_date, row, tonight
from lumenmap.almanac.year import year_picture, year_pieces
from lumenmap.core.errors import InputError
from tests.almanac.conftest import HEAD

NY = ZoneInfo("America/New_York")


DAILY = '[[rule]]\nshow = "a.toml"\non = "every day"\n'


def local(piece):
    return tuple(f"{t.astimezone(NY):%d %H:%M}" for t in (piece.start, piece.stop))


def test_evening_runs_from_sunset_to_a_clock_time(almanac):
    book = almanac(DAILY + 'from = "sunset - 15 min"\nto = "22:30"')
    ((piece,), notes) = book.evening(date(2021, 12, 7))
    assert local(piece) == ("07 16:13", "07 22:30") and not notes  # sunset 16:28, news report


def test_end_after_midnight_is_the_next_day(almanac):
    book = almanac(DAILY + 'from = "21:00"\nto = "01:30"')
    ((piece,), _) = book.evening(date(2026, 11, 20))
    assert local(piece) == ("20 21:00", "21 01:30")
    assert book.at(piece.stop - timedelta(seconds=1)) == piece
    assert book.at(piece.stop) is None
    assert book.next(piece.stop).start == piece.start + timedelta(days=1)


def test_from_a_time_to_the_same_time_is_asked_about(almanac):
    asked = 'rule 1, to: from and to are both "20:15": no time, or a whole day'
    with pytest.raises(InputError, match=asked):
        almanac(DAILY + 'from = "20:15"\nto = "8:15 pm"')
    with pytest.raises(InputError, match='quiet, to: from and to are both "sunset"'):
        almanac('[quiet]\nfrom = "sunset"\nto = "sunset"\n')
    book = almanac(DAILY + 'from = "00:00"\nto = "24:00"')
    ((piece,), notes) = book.evening(date(2026, 11, 20))
    assert not notes and piece.stop - piece.start == timedelta(days=1)


def test_a_place_on_the_wrong_side_of_the_world_is_asked_about(almanac):
    """Zones and their chief places: zone.tab of the IANA time zone database."""
    head = '[almanac]\nplace = {{ latitude = {}, longitude = {}, timezone = "{}" }}\n'
    for latitude, longitude, zone, match in (
        (34.05, 118.24, "America/Los_Angeles", r"longitude: is 118.24, east, .* did you mean -118"),
        (
            33.9,
            151.2,
            "Australia/Sydney",
            r"latitude: is 33.9, north, .*lies south; did you mean -3",
        ),
        (40.7, 74.0, "America/New_York", r"almanac.place.longitude: .* mean -74\?"),
    ):
        with pytest.raises(InputError, match=match):
            almanac(DAILY, head.format(latitude, longitude, zone))
    for latitude, longitude, zone in (
        (41.4, 2.2, "Europe/Madrid"),  # on the other side of Greenwich, as some of Spain is
        (52.5, 1.3, "Europe/London"),
        (1.0, 1.0, "UTC"),
        (27.9, -15.4, "Atlantic/Canary"),
        (39.5, 76.0, "Asia/Shanghai"),  # three hours of sun from its zone's chief place
    ):
        almanac(DAILY, head.format(latitude, longitude, zone))


def test_seconds_and_tomls_own_dates_and_times(almanac):
    book = almanac(
        DAILY + "from = 17:30:15\nto = 22:00:00\n[[once]]\ndate = 2026-12-24\nshow = 'b.toml'\n"
        'from = "5:00:30 pm"\nto = 23:59:59\n'
    )
    ((piece,), _) = book.evening(date(2026, 11, 20))
    assert piece.start.astimezone(NY).time() == time(17, 30, 15)
    ((eve,), _) = book.evening(date(2026, 12, 24))
    assert [t.astimezone(NY).time() for t in (eve.start, eve.stop)] == [
        time(17, 0, 30),
        time(23, 59, 59),
    ]
    for wrong in ("24:00:01", "12:00:60", "12:60:00 am"):
        with pytest.raises(InputError, match="isn't a clock time"):
            parse_time(wrong)
    with pytest.raises(InputError, match="expected a date such as 2026-06-05"):
        almanac("[[once]]\ndate = 2026-12-24T18:00:00\nshow = 'b.toml'\n")


def test_new_years_eve_that_the_quiet_hours_cut_says_so(almanac):
    text = (
        '[quiet]\nfrom = "23:00"\nto = "06:00"\n'
        '[[once]]\ndate = 2026-12-31\nname = "New Year\'s Eve"\nshow = \'a.toml\'\nto = "00:30"\n'
    )
    book = almanac(text)
    pieces, notes = book.evening(date(2026, 12, 31))
    assert local(pieces[0])[1] == "31 23:00"
    assert notes == [
        "New Year's Eve: 23:00 to 00:30 lies in the quiet hours; to play on, write "
        "in_quiet_hours = true"
    ]
    book = almanac(text + "in_quiet_hours = true\n")
    pieces, notes = book.evening(date(2026, 12, 31))
    assert local(pieces[0])[1] == "01 00:30" and not notes


def test_a_rule_without_a_name_has_its_shows_title(almanac, tmp_path):
    (tmp_path / "a.toml").write_text('[show]\nname = "Slow Snow"\n')
    (tmp_path / "b.toml").write_text("[show]\nname = 3\n")
    (tmp_path / "c.toml").write_text("broken")
    shows = "".join(f'[[rule]]\nshow = "{n}.toml"\non = "every day"\n' for n in "abcd")
    assert [rule.name for rule in almanac(shows).rules] == ["Slow Snow", "b", "c", "d"]


def test_sunset_to_sunrise_is_one_night(almanac):
    book = almanac(DAILY + 'from = "dusk"\nto = "dawn"')
    ((piece,), _) = book.evening(date(2026, 11, 20))
    assert timedelta(hours=12) < piece.stop - piece.start < timedelta(hours=14)


def test_daylight_saving_evenings_keep_the_wall_clock(almanac):
    """New York 2026: the clock goes back on 1 November at 02:00, so that night has 25 hours."""
    book = almanac(DAILY + 'from = "18:00"\nto = "06:00"')
    lengths = [
        (p.stop - p.start) / timedelta(hours=1)
        for d in (date(2026, 3, 7), date(2026, 10, 31), date(2026, 11, 1))
        for p in book.evening(d)[0]
    ]
    assert lengths == [11, 13, 12]


def test_sunset_on_the_evenings_round_the_change(almanac):
    """Halloween 2026 and after: sunset 17:53:24, then 16:52:10, 16:51:04 local (15 s after
    astral's)."""
    book = almanac(DAILY)
    got = [
        f"{book.evening(d)[0][0].start.astimezone(NY):%H:%M}"
        for d in (date(2026, 10, 31), date(2026, 11, 1), date(2026, 11, 2))
    ]
    assert got == ["17:53", "16:52", "16:51"]


def test_time_that_the_spring_change_skips(almanac):
    book = almanac('[[rule]]\nshow = "a.toml"\non = "2026-03-08"\nfrom = "02:30"\nto = "05:00"')
    ((piece,), _) = book.evening(date(2026, 3, 8))
    assert local(piece) == ("08 03:30", "08 05:00")


def test_higher_priority_goes_before_and_the_lower_comes_back(almanac):
    book = almanac(
        DAILY
        + """from = "18:00"
to = "23:00"
[[rule]]
name = "short"
show = "b.toml"
on = "friday"
from = "20:00"
to = "21:00"
priority = 1
"""
    )
    pieces, _ = book.evening(date(2026, 11, 20))
    assert [(p.rule, *local(p)) for p in pieces] == [
        ("a", "20 18:00", "20 20:00"),
        ("short", "20 20:00", "20 21:00"),
        ("a", "20 21:00", "20 23:00"),
    ]
    assert pieces[0].begun == pieces[2].begun, "the show goes on where it would have been"
    assert len(book.evening(date(2026, 11, 19))[0]) == 1


def test_last_of_equals_plays(almanac):
    book = almanac(DAILY + '[[rule]]\nname = "second"\nshow = "b.toml"\non = "every day"\n')
    assert {p.rule for p in book.evening(date(2026, 11, 19))[0]} == {"second"}


def test_one_off_day_goes_before_all_rules(almanac):
    book = almanac(
        DAILY
        + """priority = 1000
[[once]]
date = "2026-12-31"
show = "fireworks.toml"
to = "00:30"
[[once]]
date = "2026-12-30"
"""
    )
    assert [p.rule for p in book.evening(date(2026, 12, 31))[0]] == ["fireworks"]
    assert book.evening(date(2026, 12, 30))[0] == []
    assert [p.rule for p in book.evening(date(2026, 12, 29))[0]] == ["a"]


def test_dark_days_and_days_left_out(almanac):
    head = (
        "[almanac]\nplace = { latitude = 40.71, longitude = -74.01, "
        'timezone = "America/New_York" }\ndark = "07-01..07-14"\n'
    )
    book = almanac(DAILY + 'not_on = "monday"\n', head)
    assert not book.evening(date(2026, 7, 14))[0] and book.evening(date(2026, 7, 15))[0]
    assert not book.evening(date(2026, 7, 20))[0], "a Monday"


def test_days_before_and_after(almanac):
    text = '[[rule]]\nshow = "a.toml"\non = "01-01"\ndays_before = 2\ndays_after = 1\n'
    book = almanac(text)
    lit = [
        d for d in (date(2026, 12, 27) + timedelta(days=i) for i in range(9)) if book.evening(d)[0]
    ]
    assert lit == [date(2026, 12, 30), date(2026, 12, 31), date(2027, 1, 1), date(2027, 1, 2)]


@pytest.mark.parametrize("rule", ['on = "12-31"', 'on = "12-26"\ndays_after = 5'])
def test_a_rule_of_a_few_evenings_that_quiet_hours_cut_says_so_too(almanac, rule):
    """Every evening ends with the quiet hours, which is what they are for; a feast may not."""
    quiet = '[quiet]\nfrom = "23:00"\nto = "06:00"\n'
    feast = f'[[rule]]\nname = "Sparks"\nshow = "b.toml"\n{rule}\nto = "00:30"\n'
    book = almanac(quiet + DAILY + 'to = "24:00"\n' + feast)
    (piece,), notes = book.evening(date(2026, 12, 31))
    assert local(piece)[1] == "31 23:00" and notes == [
        "Sparks: 23:00 to 00:30 lies in the quiet hours; to play on, write in_quiet_hours = true"
    ]
    assert not book.evening(date(2026, 12, 20))[1]
    loud = almanac(quiet + DAILY + feast + "in_quiet_hours = true\n")
    assert not loud.evening(date(2026, 12, 31))[1]
    all_night = 'to = "01:00"\nin_quiet_hours = true\npriority = 1\n'
    other = almanac(quiet + DAILY + all_night + feast)
    assert not other.evening(date(2026, 12, 31))[1], "it wouldn't play anyhow"


def test_a_whole_day_goes_from_0_to_24_hours(almanac):
    book = almanac(DAILY + 'from = "00:00"\nto = "24:00"\n')
    lines = tonight(book, date(2026, 12, 20))[1]
    assert lines[1] == "  00:00 to 24:00  a"
    half = almanac(DAILY + 'from = "12:00"\nto = "24:00"\n')
    assert tonight(half, date(2026, 12, 20))[1][1] == "  12:00 to 00:00  a"


def test_quiet_hours_and_who_may_break_them(almanac):
    quiet = '[quiet]\nfrom = "22:00"\nto = "06:00"\n'
    rule = DAILY + 'from = "20:00"\nto = "23:30"\n'
    ((piece,), _) = almanac(quiet + rule).evening(date(2026, 11, 20))
    assert local(piece) == ("20 20:00", "20 22:00")
    ((piece,), _) = almanac(quiet + rule + "in_quiet_hours = true\n").evening(date(2026, 11, 20))
    assert local(piece) == ("20 20:00", "20 23:30")


def test_brightness_by_time(almanac):
    text = '[[dim]]\nfrom = "21:00"\nto = "23:00"\nbrightness = 0.5\n' + DAILY
    book = almanac(text + 'from = "20:00"\nto = "22:00"\nbrightness = 0.8\n')
    pieces, _ = book.evening(date(2026, 11, 20))
    assert [(p.brightness, *local(p)) for p in pieces] == [
        (0.8, "20 20:00", "20 21:00"),
        (0.4, "20 21:00", "20 22:00"),
    ]


def test_polar_day_has_no_evening_and_says_so(almanac):
    head = '[almanac]\nplace = { latitude = 69.65, longitude = 18.96, timezone = "Europe/Oslo" }\n'
    book = almanac(DAILY, head)
    pieces, notes = book.evening(date(2026, 6, 21))
    assert pieces == [] and notes == ["a: the sun doesn't set (sunset)"]
    ((piece,), _) = book.evening(date(2026, 12, 21))
    local_start = piece.start.astimezone(ZoneInfo("Europe/Oslo"))
    assert f"{local_start:%H}" == "11", "polar night: dark from the sun's highest on"


RULES = st.lists(
    st.tuples(
        st.sampled_from(["every day", "friday..monday", "12-01..01-06", "easter", "wednesday"]),
        st.sampled_from(["sunset", "dusk - 1 h", "12:00", "20:15", "23:30", "00:30"]),
        st.sampled_from(["23:00", "02:00", "sunrise", "20:15", "12:00"]),
        st.integers(-2, 2),
        st.booleans(),
    ),
    min_size=1,
    max_size=5,
)


@given(rules=RULES, start=st.dates(date(2026, 1, 1), date(2027, 12, 1)))
def test_no_two_pieces_overlap_whatever_the_rules(tmp_path_factory, rules, start):
    text = (
        "[almanac]\nplace = { latitude = 40.71, longitude = -74.01, "
        'timezone = "America/New_York" }\n[quiet]\nfrom = "01:00"\nto = "05:00"\n'
    )
    for i, (on, from_, to, priority, loud) in enumerate(rules):
        if from_ == to:
            continue  # is asked about
        text += (
            f'[[rule]]\nname = "{i}"\nshow = "s{i}.toml"\non = "{on}"\nfrom = "{from_}"\n'
            f'to = "{to}"\npriority = {priority}\nin_quiet_hours = {str(loud).lower()}\n'
        )
    file = tmp_path_factory.mktemp("book") / "almanac.toml"
    file.write_text(text)
    book = load_almanac(file)
    pieces = sorted(
        (p for i in range(12) for p in book.evening(start + timedelta(days=i))[0]),
        key=lambda p: p.start,
    )
    for a, b in pairwise(pieces):
        assert a.start < a.stop <= b.start < b.stop
    for p in pieces:
        assert book.at(p.start) == p


def test_calendar_is_read_back_by_another_parser(almanac):
    book = almanac(
        DAILY + 'name = "Lichterfest; Straße, Übermut und ein langer Titel, '
        'über fünfundsiebzig Oktette"\n'
    )
    pieces = year_pieces(book, 2026)
    text = calendar(book, pieces, stamp=datetime(2026, 1, 1, tzinfo=UTC))
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    events = Calendar.from_ical(text).walk("VEVENT")
    assert len(events) == len(pieces) == 365
    assert len({str(e["UID"]) for e in events}) == 365
    for event, piece in zip(events, pieces, strict=True):
        assert abs(event.decoded("DTSTART") - piece.start) <= timedelta(seconds=0.5)
        assert abs(event.decoded("DTEND") - piece.stop) <= timedelta(seconds=0.5)
        assert str(event["SUMMARY"]) == piece.rule


def test_an_evening_that_is_dimmed_is_one_event_which_keeps_its_number(almanac):
    """Whoever reads the file in again, as after a change of hours, has no evening twice."""
    dim = '[[dim]]\nfrom = "21:30"\nto = "22:00"\nbrightness = 0.5\n'
    found = []
    for start in ("sunset", "20:00"):
        book = almanac(dim + DAILY + f'from = "{start}"\nto = "22:30"\n')
        events = Calendar.from_ical(calendar(book, year_pieces(book, 2026))).walk("VEVENT")
        assert len(events) == len({str(e["UID"]) for e in events}) == 365
        found.append({str(e["UID"]) for e in events})
        assert str(events[0]["DESCRIPTION"]) == "a, at 50 % from 21:30, at 100 % from 22:00"
    assert found[0] == found[1]
    book = almanac(
        DAILY + 'to = "24:00"\n'
        '[[rule]]\nshow = "b.toml"\non = "daily"\nfrom = "21:00"\nto = "22:00"\npriority = 1\n'
    )
    events = Calendar.from_ical(calendar(book, year_pieces(book, 2026))).walk("VEVENT")
    assert len({str(e["UID"]) for e in events}) == 3 * 365, "before and after the other show"


def test_twelve_rules_have_twelve_colours_in_the_picture(almanac, tmp_path):
    from PIL import Image

    rules = "".join(
        f'[[rule]]\nshow = "{i}.toml"\non = "{i:02}-05"\nfrom = "20:00"\nto = "22:00"\n'
        for i in range(1, 13)
    )
    year_picture(almanac(rules), 2026, tmp_path / "year.png")
    with Image.open(tmp_path / "year.png") as image:
        pixels = image.convert("RGB")
        days = [(date(2026, i, 5) - date(2026, 1, 1)).days for i in range(1, 13)]
        seen = {pixels.getpixel((64 + 4 * day + 1, 58 + 26 * 9)) for day in days}
    assert len(seen) == 12


def test_year_as_rows_and_as_a_picture(almanac, tmp_path):
    from PIL import Image

    book = almanac(DAILY + 'from = "20:00"\nto = "22:00"\n')
    pieces = year_pieces(book, 2026)
    first = row(book, pieces[0], "A")
    assert (first["date"], first["from"], first["to"]) == ("2026-01-01", "20:00", "22:00")
    year_picture(book, 2026, tmp_path / "year.png")
    with Image.open(tmp_path / "year.png") as image:
        pixels = image.convert("RGB")
        assert pixels.width > 1400
        bar = (0xFF, 0xB3, 0x47)
        assert pixels.getpixel((64 + 4 * 100 + 1, 58 + 26 * 9)) == bar, "21:00 in April is lit"
        assert pixels.getpixel((64 + 4 * 100 + 1, 58 + 26 * 11)) != bar


def test_shows_go_by_their_titles(almanac):
    """A rule without a name has the show's, which is told once; a file is named where it's wrong."""
    book = almanac(
        DAILY
        + '[[rule]]\nname = "Late"\nshow = "a.toml"\non = "daily"\nfrom = "23:00"\nto = "23:30"\n'
    )
    (book.file.parent / "a.toml").write_text('[show]\nname = "First\\u001b Frost"\n')
    again = load_almanac(book.file)
    report, lines = tonight(again, date(2021, 12, 7))
    assert lines[1:] == [
        "  16:28 to 23:00  First\\x1b Frost",
        "  23:00 to 23:30  First\\x1b Frost (Late)",
    ]
    assert [(r["show"], r["title"]) for r in report["pieces"]] == [
        ("a.toml", "First\\x1b Frost")
    ] * 2


@pytest.mark.parametrize(
    ("place", "told"),
    [
        ('latitude = 40.8, longitude = -73.9, timezone = "America/New_York"', False),
        ('latitude = 41.2, longitude = -73.9, timezone = "America/New_York"', True),
        ('latitude = 40.8, longitude = -75.2, timezone = "America/New_York"', True),
        ('latitude = 40.8, longitude = -73.9, timezone = "America/Chicago"', True),
        ('latitude = "north"', False),  # told by what needs the house
        ("", False),
    ],
)
def test_a_house_at_another_place_than_the_almanac_s_is_noted(almanac, tmp_path, place, told):
    """The example that an almanac begins with counts, even if the house has its own place."""
    text = f'[house]\nname = "Here"\n{f"place = {{ {place} }}" if place else ""}\n'
    (tmp_path / "house.toml").write_text(text)
    book = almanac(DAILY, HEAD.replace("[almanac]", '[almanac]\nhouse = "house.toml"'))
    report, lines = tonight(book, date(2021, 12, 7))
    notes = [line for line in lines if line.startswith("  problem: the almanac's place is 40.7")]
    assert bool(notes) == told == (len(report["problems"]) == 2)
    if told:
        assert notes[0].endswith(". Leave place out of [almanac] to use the house's")


def test_a_show_that_is_not_there_is_told_on_every_evening(almanac, tmp_path):
    """On the evening itself it is too late; what is past isn't told."""
    for name in ("diya", "snow"):
        (tmp_path / f"{name}.toml").write_text('[show]\nname = "x"\n')
    book = almanac(
        '[[rule]]\nshow = "snow.toml"\non = "daily"\n'
        '[[rule]]\nname = "Lamps"\nshow = "dyia.toml"\non = "diwali"\n'
        '[[once]]\ndate = "2021-05-01"\nshow = "first-try.toml"\n'
    )
    report, lines = tonight(book, date(2021, 12, 7))
    told = 'dyia.toml, the show of Lamps, doesn\'t exist; did you mean "diya.toml"?'
    assert report["problems"] == [told] and lines[-1] == f"  problem: {told}"
    assert tonight(book, date(2021, 4, 7))[0]["problems"][1:] == ["first-try.toml doesn't exist"]


def test_tonight_in_words(almanac):
    book = almanac(DAILY)
    report, lines = tonight(book, date(2021, 12, 7))
    assert lines[0] == "Tuesday 7 December 2021, America/New_York: sunset 16:28"
    assert lines[1] == "  16:28 to 23:00  a"
    assert report["problems"] == ["a.toml doesn't exist"]
    with pytest.raises(InputError, match="isn.t a date; expected a date such as 2026-06-05"):
        parse_date("tomorrow")


@pytest.mark.parametrize(
    ("text", "hour", "minute"),
    [
        ("11:30 pm", 23, 30),
        ("11:30PM", 23, 30),
        ("11 p.m.", 23, 0),
        ("12 am", 0, 0),
        ("12:15 pm", 12, 15),
        ("7 am", 7, 0),
        ("5:05 a.m. ", 5, 5),
    ],
)
def test_times_of_a_twelve_hour_clock(text, hour, minute):
    assert parse_time(text).clock == time(hour, minute)


def test_midnight_at_the_end_of_the_day(almanac):
    book = almanac(DAILY + 'from = "20:00"\nto = "24:00"\n')
    ((piece,), _) = book.evening(date(2026, 11, 20))
    assert local(piece) == ("20 20:00", "21 00:00")


def test_examples_have_a_year(examples):
    for folder in examples.iterdir():
        if (folder / "almanac.toml").exists():
            book = load_almanac(folder / "almanac.toml")
            assert len(year_pieces(book, 2026)) > 50
            assert all(rule.show.exists() for rule in book.rules)
