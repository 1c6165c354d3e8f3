"""Other evenings than tonight: a show, hours, brightness, dark; and what is said of it before."""

from datetime import timedelta

import pytest

from lumenmap.almanac.dated import Span
from lumenmap.almanac.load import load_almanac
from lumenmap.core.errors import InputError
from lumenmap.desk.evenings.words import when
from lumenmap.desk.wire.asked import UndoEvening
from lumenmap.desk.wire.days import FARTHEST, AskDays, Wish
from tests.desk.conftest import ALMANAC
from tests.desk.evenings.person import Days, at, day


def test_the_coming_evenings_with_what_put_them_there(days):
    days.choose("2026-12-24", name="Eve")
    days.choose("2026-12-03", "2026-12-10", what="dark", name="Away")
    told = days.evening.coming(None, 40)
    assert told.tonight == "2026-11-25" and len(told.days) == 40 and not told.problem
    assert day(told.farthest) - day(told.tonight) == timedelta(days=FARTHEST)
    found = {d.date: d for d in told.days}
    eve, usual, away = (found[f"2026-12-{d}"] for d in ("24", "23", "05"))
    assert [p.title for p in eve.pieces] == ["Another One", "Another One"]
    assert (eve.by, eve.why) == ("hand", "Eve")
    assert (usual.by, usual.why) == ("rule", "Every evening") and not usual.dark
    assert (away.by, away.why, away.dark, away.pieces) == ("hand", "Away", True, [])


def test_a_show_on_two_evenings_is_one_table(days):
    answer = days.choose("2026-12-24", "2026-12-25")
    assert answer.sentence == (
        "Another One replaces First Try on 24 and 25 December, from sunset to 22:30. "
        "After that, everything as planned."
    )
    assert days.once == [
        {
            "date": "2026-12-24..2026-12-25",
            "show": "other.toml",
            "from": "sunset",
            "to": "22:30",
        }
    ]
    assert days.shows("2026-12-23", "2026-12-26") == ["show", "other", "other", "show"]
    assert days.text.startswith(ALMANAC), "what a person wrote stays"
    assert days.tell().undoes == "Another show on 24 and 25 December"
    days.do(UndoEvening)
    assert days.text == ALMANAC


def test_dark_across_the_new_year(days):
    answer = days.choose("2026-12-29", "2027-01-03", what="dark", name="Away")
    assert answer.sentence == (
        "Dark from 29 December to 3 January: First Try doesn't play. "
        "After that, everything as planned."
    )
    assert days.once == [{"date": "2026-12-29..2027-01-03", "name": "Away"}]
    assert days.shows("2026-12-28", "2027-01-04") == ["show", *[""] * 6, "show"]


def test_a_day_in_the_middle_of_others_splits_them(days):
    days.choose("2026-12-03", "2026-12-10", what="dark", name="Away")
    before = days.text
    answer = days.choose("2026-12-05")
    assert answer.sentence == (
        "Another One plays on Saturday 5 December, from 16:18 to 22:30; nothing was planned then. "
        "What was chosen before goes: Away. After that, as chosen: Away."
    )
    assert [o["date"] for o in days.once] == [
        "2026-12-03..2026-12-04",
        "2026-12-06..2026-12-10",
        "2026-12-05",
    ]
    assert days.shows("2026-12-03", "2026-12-06") == ["", "", "other", ""]
    answer = days.choose("2026-12-04", "2026-12-05", what="planned")
    assert answer.sentence == (
        "As planned on 4 and 5 December: First Try from sunset to 22:30. What was chosen before "
        "goes: Away on Friday 4 December and Another One on Saturday 5 December. "
        "After that, as chosen: Away."
    )
    assert days.shows("2026-12-03", "2026-12-06") == ["", "show", "show", ""]
    days.do(UndoEvening)
    days.do(UndoEvening)
    assert days.text == before


def test_only_a_bit_brighter(days):
    """Each rule keeps its hours; an evening that is dark stays dark."""
    days.choose("2026-12-02", what="dark")
    answer = days.choose("2026-12-01", "2026-12-03", what="brightness", level=0.4)
    assert answer.sentence.startswith(
        "First Try plays at 40\N{NO-BREAK SPACE}% from 1 to 3 December."
    )
    almanac = load_almanac(days.path)
    assert [
        p.brightness if (p := almanac.at(at(f"2026-12-0{d} 20:00"))) else None for d in range(1, 5)
    ] == [0.4, None, 0.4, 1.0]
    assert days.coming()["2026-12-01"].brightness == 0.4
    with pytest.raises(InputError, match="nothing plays then; choose a show first"):
        days.ask("2026-12-02", what="brightness", level=0.5)


def test_hours_of_ones_own_past_midnight(days):
    days.choose("2026-12-12", start="18:00", stop="01:15", level=0.5, name="Birthday")
    piece = load_almanac(days.path).at(at("2026-12-13 01:00"))
    assert (piece.show.name, piece.rule, piece.brightness) == ("other.toml", "Birthday", 0.5)
    shown = days.coming()["2026-12-12"]
    assert (shown.pieces[0].start, shown.pieces[-1].stop) == ("18:00", "01:15")
    assert days.coming()["2026-12-13"].pieces[0].start == "16:18"
    answer = days.ask("2026-12-12", start="19:00", stop="23:00", level=1.0)
    assert answer.sentence.startswith(
        "Another One plays on Saturday 12 December, from 19:00 to 23:00, instead of 18:00 to 01:15."
    )


@pytest.mark.parametrize(
    ("start", "stop", "why"),
    [
        ("noonish", None, "isn't a time"),
        ("18:00", "18:00", "no time, or a whole day"),
        (None, "15:00", "that would never play: .*sunset is after 15:00"),
    ],
)
def test_hours_that_cant_be(days, start, stop, why):
    with pytest.raises(InputError, match=why):
        days.ask("2026-12-12", start=start, stop=stop)


QUIET = ALMANAC + '\n[quiet]\nfrom = "23:00"\nto = "06:00"\n'


def test_quiet_hours_are_told_and_may_be_played_through(house):
    days = Days(house, QUIET)
    answer = days.ask("2026-12-12", stop="00:30")
    assert answer.hushed
    assert answer.notes == ["From 23:00 to 00:30 it is dark all the same: those are quiet hours."]
    answer = days.choose("2026-12-12", stop="00:30", quiet=True)
    assert not answer.hushed and not answer.notes and "to 00:30" in answer.sentence
    assert load_almanac(days.path).at(at("2026-12-13 00:20")).show.name == "other.toml"


def test_hours_that_lie_in_the_quiet_hours_are_said_as_they_are(house):
    days = Days(house, QUIET)
    answer = days.ask("2026-12-12", start="23:30", stop="00:30")
    assert "on Saturday 12 December, from 23:30 to 00:30." in answer.sentence
    assert answer.notes == ["From 23:30 to 00:30 it is dark all the same: those are quiet hours."]


def test_what_it_does_to_the_evenings_around(days):
    """02:00 is early on Saturday: Friday's evening ends by that, which nobody may have thought of."""
    days.choose("2026-12-11", stop="04:00", name="Party")
    answer = days.ask("2026-12-12", start="02:00", stop="05:00")
    assert answer.notes == [
        "Friday 11 December changes with that: Another One from 16:18 to 02:00, half as bright "
        "from 21:30, at 100\N{NO-BREAK SPACE}% from 23:00."
    ]
    days.choose("2026-12-12", start="02:00", stop="05:00")
    assert "from 16:18 to 04:00" in days.ask("2026-12-12", what="dark").notes[0]
    assert days.ask("2026-12-13").notes == []


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("2026-12-29", "2027-01-03", "from 29 December to 3 January"),
        ("2026-11-26", "2027-12-20", "from 26 November 2026 to 20 December 2027"),
        ("2027-11-26", "2027-12-20", "from 26 November to 20 December 2027"),
        ("2027-12-31", "2027-12-31", "on Friday 31 December 2027"),
        ("2028-02-28", "2028-02-29", "on 28 and 29 February 2028"),
    ],
)
def test_years_are_named_where_they_may_be_mistaken(first, last, words):
    assert when(Span(day(first), day(last)), day("2026-11-25")) == words


def test_evenings_of_different_hours_keep_them(house):
    text = ALMANAC + (
        '\n[[rule]]\nname = "Weekend"\nshow = "show.toml"\non = "weekend"\n'
        'from = "16:00"\nto = "23:00"\npriority = 1\n'
    )
    days = Days(house, text)
    answer = days.choose("2026-12-04", "2026-12-08")
    assert "at the hours that were planned" in answer.sentence
    assert [(o["date"], o["from"], o["to"]) for o in days.once] == [
        ("2026-12-04", "sunset", "22:30"),
        ("2026-12-05..2026-12-06", "16:00", "23:00"),
        ("2026-12-07..2026-12-08", "sunset", "22:30"),
    ]


def test_days_that_are_over_and_days_too_far_away(days):
    for first, last, why in (
        ("2026-11-24", None, "24 November is over; choose evenings from tonight on"),
        ("2026-11-24", "2026-12-24", "24 November is over"),
        ("2026-12-24", "2026-12-23", "23 December is before 24 December"),
        ("2027-12-24", "2028-01-05", "5 January 2028 is more than 400 days away"),
    ):
        with pytest.raises(InputError, match=why):
            days.ask(first, last)
    assert "on Friday 24 December 2027" in days.ask("2027-12-24").sentence
    days.time = at("2026-11-25 23:10")
    with pytest.raises(InputError, match="tonight ended at 22:30; choose until when"):
        days.ask("2026-11-25")
    assert days.ask("2026-11-25", "2026-11-26").notes == ["Tonight ended at 22:30 already."]

    assert days.ask("2026-11-25", stop="23:50").sentence.startswith("Another One replaces")


def test_dark_on_an_evening_that_is_over_or_has_begun(days):
    """What has been played isn't taken away."""
    assert days.ask("2026-11-25", what="dark").sentence.startswith(
        "Dark on Wednesday 25 November: First Try stops."
    )
    days.time = at("2026-11-25 23:00")
    with pytest.raises(InputError, match="tonight ended at 22:30; it is dark already"):
        days.ask("2026-11-25", what="dark")
    both = days.ask("2026-11-25", "2026-11-26", what="dark")
    assert both.sentence.startswith("Dark on 25 and 26 November: First Try doesn't play.")
    assert both.notes == ["Tonight ended at 22:30 already."]
    days.choose("2026-11-26", what="dark")
    alone = days.ask("2026-11-25", "2026-11-26", what="dark").sentence
    assert alone.startswith("Dark on 25 and 26 November; nothing was planned then.")
    days.choose("2026-11-25", "2026-11-26", what="show")
    planned = days.ask("2026-11-25", what="planned")
    assert planned.notes == ["Tonight ended at 22:30 already."]


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ({"what": "show", "file": None}, "choose a show"),
        ({"what": "show", "file": "othre.toml"}, 'did you mean "other.toml"'),
        ({"what": "brightness"}, "choose how bright"),
        ({"what": "planned"}, "nothing else was chosen on Thursday 24 December"),
    ],
)
def test_a_wish_that_says_too_little(days, words, why):
    wish = Wish(first=day("2026-12-24"), last=day("2026-12-24"), **words)
    with pytest.raises(InputError, match=why):
        days.evening.ask(AskDays(id=1, wish=wish))
