"""Other evenings than tonight: dates and spans of them, what is said before, undo, several hands."""

import tomllib
from datetime import date, datetime, timedelta

import pytest
from dateutil.rrule import DAILY, rrule
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from lumenmap.almanac.load import load_almanac
from lumenmap.core.errors import InputError
from lumenmap.desk.evenings import book as book_module
from lumenmap.desk.files.folder import ChangedError
from lumenmap.desk.wire import stretch as wire
from lumenmap.desk.wire.asked import Choose, Dark, UndoEvening
from lumenmap.desk.wire.days import FARTHEST, AskDays, SetDays, Wish
from tests.desk.conftest import ALMANAC
from tests.desk.evenings.test_tonight import Night, at


def day(text):
    return date.fromisoformat(text)


class Days(Night):
    """A person who chooses other evenings; it is 25 November 2026, 17:00, in Seattle."""

    def wish(self, first, last=None, what="show", **words):
        if what == "show":
            words.setdefault("file", "other.toml")
        return Wish(first=day(first), last=day(last or first), what=what, **words)

    def ask(self, *words, **more):
        return self.evening.ask(AskDays(id=1, wish=self.wish(*words, **more)))

    def choose(self, *words, **more):
        """Read what it does, and do it; return what was read."""
        wish = self.wish(*words, **more)
        answer = self.evening.ask(AskDays(id=1, wish=wish))
        self.evening.change(SetDays(id=2, wish=wish, agreed=answer.sentence))
        return answer

    def coming(self, count=40, first=None):
        return {d.date: d for d in self.evening.coming(day(first) if first else None, count).days}

    def shows(self, first, last):
        """Which show `lumenmap run` would play on each evening at 20:00: by the file alone."""
        almanac, found = load_almanac(self.path), []
        for moment in rrule(DAILY, dtstart=datetime.fromisoformat(first), until=day_end(last)):
            piece = almanac.at(at(f"{moment:%Y-%m-%d} 20:00"))
            found.append(piece.show.stem if piece else "")
        return found


def day_end(text):
    return datetime.fromisoformat(text)


@pytest.fixture
def days(house):
    return Days(house)


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


YEARLY = (
    ALMANAC
    + """
# Everybody comes, every year.
[[once]]
date = "12-24"
name = "Party"
show = "other.toml"

[[once]]
date = 2026-12-31      # a date, as TOML has them
name = "New Year's Eve"
show = "other.toml"
to = "00:30"
"""
)


def test_what_a_person_wrote_for_every_year_stays_and_comes_back(house):
    days = Days(house, YEARLY)
    assert days.coming()["2026-12-24"].by == "rule"
    days.choose("2026-12-20", "2026-12-27", what="dark")
    assert days.shows("2026-12-24", "2026-12-24") == [""]
    assert days.text.startswith(YEARLY)
    days.choose("2026-12-24", what="planned")
    assert days.shows("2026-12-23", "2026-12-25") == ["", "other", ""]
    answer = days.choose("2026-12-31", what="planned")
    assert "What was chosen before goes: New Year's Eve." in answer.sentence
    for _ in range(3):
        days.do(UndoEvening)
    assert days.text == YEARLY


def test_tonight_in_a_span_that_was_chosen(days):
    """What is chosen for tonight comes before what was chosen for the days around it."""
    days.choose("2026-11-25", "2026-11-28", what="dark")
    before, told = days.text, days.tell()
    assert told.dark and told.changed and told.sentence == "Dark tonight."
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


def test_what_plays_now_changes_by_itself(days):
    assert days.coming()["2026-11-25"].pieces[0].on_now
    days.time = at("2026-11-25 22:00")
    assert [p.on_now for p in days.coming()["2026-11-25"].pieces] == [False, True]


COMMENTED = (
    ALMANAC
    + """
[[once]]
date = "2026-12-20..2026-12-27"   # all of us
show = "other.toml"
to = 23:00:00                     # a time, as TOML has them
"""
)


def test_a_span_that_is_split_keeps_its_comments(house):
    days = Days(house, COMMENTED)
    days.choose("2026-12-24", what="dark")
    assert 'date = "2026-12-20..2026-12-23"   # all of us' in days.text
    assert "to = 23:00:00                     # a time" in days.text
    assert [(o["date"], str(o.get("to"))) for o in days.once] == [
        ("2026-12-20..2026-12-23", "23:00:00"),
        ("2026-12-25..2026-12-27", "23:00:00"),
        ("2026-12-24", "None"),
    ]
    days.do(UndoEvening)
    assert days.text == COMMENTED


INLINE = ALMANAC.replace(
    "[almanac]", 'once = [{ date = "2026-12-24..2026-12-26", show = "other.toml" }]\n[almanac]'
)


def test_choices_written_on_one_line(house):
    days = Days(house, INLINE)
    days.choose("2026-12-25", what="planned")
    days.choose("2026-12-25", what="dark")
    assert days.shows("2026-12-23", "2026-12-27") == ["show", "other", "", "other", "show"]
    days.do(UndoEvening)
    days.do(UndoEvening)
    assert days.text == INLINE


def test_tonight_in_a_dark_span_that_no_rule_lights(house):
    days = Days(house, ALMANAC.replace("monday..sunday", "12-01..12-31"))
    days.choose("2026-11-25", "2026-11-28", what="dark")
    with pytest.raises(InputError, match="nothing else is planned for tonight; choose a show"):
        days.do(Dark, dark=False)


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


def test_after_midnight_last_evening_is_still_tonight(house):
    days = Days(house, ALMANAC.replace('to = "22:30"', 'to = "01:00"'))
    days.time = at("2026-11-26 00:30")
    assert days.evening.coming(None, 3).tonight == "2026-11-25"
    days.choose("2026-11-26", what="dark")
    assert days.plays("2026-11-26 00:40") == ("show.toml", 1.0)
    assert days.plays("2026-11-26 18:00") is None


def test_what_was_read_must_still_hold(days):
    """Two phones: the second read of a show that isn't there any more."""
    wish = days.wish("2026-12-24", what="dark")
    read = days.evening.ask(AskDays(id=1, wish=wish)).sentence
    days.choose("2026-12-24", "2026-12-26", name="Party")
    before = days.text
    with pytest.raises(InputError, match="changed meanwhile, so nothing was done. Now it would be"):
        days.evening.change(SetDays(id=2, wish=wish, agreed=read))
    assert days.text == before


def test_a_file_that_an_editor_saves_in_these_milliseconds(days, monkeypatch):
    """What was saved is kept, and the change is made on it."""
    edited = days.text.replace('"22:30"', '"22:45"  # later')
    write, tries = book_module.Folder.write, []

    def late(self, name, text, before):
        tries.append(name)
        if len(tries) == 1:
            days.path.write_text(edited, "utf-8")
            raise ChangedError("was saved by somebody else meanwhile")
        write(self, name, text, before)

    monkeypatch.setattr(book_module.Folder, "write", late)
    days.choose("2026-12-24", what="dark")
    assert len(tries) == 2 and days.text.startswith(edited)
    assert days.shows("2026-12-24", "2026-12-25") == ["", "show"]


def test_undo_leaves_what_an_editor_did_since(days):
    days.choose("2026-12-24", "2026-12-27", what="dark")
    typed = days.text.replace("# The year of", "# The lights of")
    days.path.write_text(typed, "utf-8")
    days.do(UndoEvening)
    assert days.text.rstrip() == ALMANAC.replace("# The year of", "# The lights of").rstrip()


def test_an_almanac_with_mistakes_changes_nothing(days):
    days.tell()
    days.path.write_text(ALMANAC.replace("[[rule]]", "[[rlue]]"), "utf-8")
    days.tell()
    told = days.evening.coming(None, 7)
    assert "rlue" in told.problem and len(told.days) == 7
    with pytest.raises(InputError, match="rlue"):
        days.ask("2026-12-24")
    assert "[[rlue]]" in days.text


def test_without_an_almanac(days):
    days.path.unlink()
    days.evening.book.folder.look()
    days.tell()
    told = days.evening.coming(None, 7)
    assert told.days == [] and "lumenmap new makes one" in told.problem
    with pytest.raises(InputError, match="no almanac"):
        days.ask("2026-12-24")


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


@pytest.mark.parametrize(
    "text",
    [
        '{"type": "look_days", "count": 0}',
        '{"type": "look_days", "count": 71}',
        '{"type": "look_days", "count": 7, "first": "tomorrow"}',
        '{"type": "look_days", "count": 7, "first": 20261224}',
        '{"type": "ask_days", "id": 1, "wish": {"first": "2026-12-24", "what": "dark"}}',
        '{"type": "ask_days", "id": 1, "wish": {"first": "2026-12-24", "last": "2026-12-24", '
        '"what": "brightness", "level": 0}}',
        '{"type": "set_days", "id": 1, "wish": {"first": "2026-12-24", "last": "2026-12-24", '
        '"what": "dark"}}',
    ],
)
def test_messages_that_arent(text):
    with pytest.raises(InputError, match="isn't one of the desk's"):
        wire.read(text)


def test_a_wish_is_frozen_and_strict():
    with pytest.raises(ValidationError):
        Wish(first=day("2026-12-24"), last="2026-12-24", what="dark")


FIRST = day("2026-11-25")
WISHES = st.lists(
    st.tuples(
        st.integers(0, 60), st.integers(0, 12), st.sampled_from(["other", "show", "", "planned"])
    ),
    max_size=8,
)


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(WISHES)
def test_any_wishes_one_after_another_and_back(house, wishes):
    """Against a plain list of evenings; undone, the file has the bytes it had at each step."""
    days, expected, texts = Days(house), ["show"] * 80, []
    for begin, more, what in wishes:
        first = FIRST + timedelta(days=begin)
        span = str(first), str(first + timedelta(days=more))
        kind = {"": "dark", "planned": "planned"}.get(what, "show")
        words = {"file": f"{what}.toml"} if kind == "show" else {}
        before = days.text
        try:
            days.choose(*span, what=kind, **words)
        except InputError as error:
            assert "as planned already" in str(error)
            continue
        texts.append(before)
        for n in range(begin, begin + more + 1):
            expected[n] = "show" if what == "planned" else what
    assert days.shows("2026-11-25", str(FIRST + timedelta(days=79))) == expected
    dates = [o["date"] for o in tomllib.loads(days.text).get("once", [])]
    assert len(dates) == len(set(dates))
    for text in reversed(texts):
        days.do(UndoEvening)
        assert days.text == text


def test_by_the_socket_those_who_look_are_told(desk):
    one, two = desk.page(), desk.page()
    two.send("look_days", first=None, count=14)
    told = two.until(lambda m: m["type"] == "days")
    wish = {"first": told["days"][3]["date"], "last": told["days"][5]["date"], "what": "dark"}
    answer = one.ask("ask_days", wish=wish)
    assert answer["type"] == "days_answer" and answer["sentence"].startswith("Dark from")
    refused = one.ask("set_days", wish=wish, agreed="Dark.")
    assert refused["type"] == "refused" and answer["sentence"] in refused["sentence"]
    assert one.ask("set_days", wish=wish, agreed=answer["sentence"])["type"] == "accepted"
    told = two.until(lambda m: m["type"] == "days" and m["days"][3]["dark"])
    assert [d["dark"] for d in told["days"][:7]] == [False] * 3 + [True] * 3 + [False]
    assert two.told["evening"]["tonight"]["undoes"].startswith("Dark from")
    assert two.ask("undo_evening")["type"] == "accepted"
    two.until(lambda m: m["type"] == "days" and not m["days"][3]["dark"])
    assert "days" not in one.told, "who doesn't look isn't told"


def test_a_phone_for_the_evening_may_do_it(desk):
    token, _ = desk.desk.pairing.invite("evening")
    got = desk.http("GET", f"/open?token={token}")
    phone = desk.page(got.headers["set-cookie"].split(";")[0])
    phone.send("look_days", first=None, count=7)
    told = phone.until(lambda m: m["type"] == "days")
    wish = {"first": told["days"][2]["date"], "last": told["days"][2]["date"], "what": "dark"}
    answer = phone.ask("ask_days", wish=wish)
    assert phone.ask("set_days", wish=wish, agreed=answer["sentence"])["type"] == "accepted"
