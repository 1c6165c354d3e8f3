"""The family's evening: a sentence, another show, brightness, dark, undo; by way of the almanac."""

import json

import pytest

from lumenmap.core.errors import InputError
from lumenmap.desk.wire.asked import Brightness, Choose, Dark, UndoEvening
from tests.desk.conftest import ALMANAC
from tests.desk.evenings.person import Night, at


def test_the_evening_is_one_sentence(night):
    """Sunset in Seattle on 25 November 2026 is at 16:23 (NOAA's solar calculator, from memory)."""
    told = night.tell()
    assert told.sentence == "First Try from 16:23 to 22:30, half as bright from 21:30."
    assert [(p.start, p.stop, p.brightness, p.on_now) for p in told.pieces] == [
        ("16:23", "21:30", 1.0, True),
        ("21:30", "22:30", 0.5, False),
    ]
    assert not told.dark and not told.changed and told.brightness == 1.0


def test_another_show_keeps_the_evenings_hours(night):
    told = night.do(Choose, file="other.toml")
    assert told.sentence == "Another One from 16:23 to 22:30, half as bright from 21:30."
    assert told.changed and told.can_undo and told.undoes == "Another show tonight"
    assert night.once == [
        {"date": "2026-11-25", "show": "other.toml", "from": "sunset", "to": "22:30"}
    ]
    assert night.plays("2026-11-25 18:00") == ("other.toml", 1.0)
    assert night.plays("2026-11-26 18:00") == ("show.toml", 1.0)


def test_dimmer_tonight(night):
    told = night.do(Brightness, level=0.4)
    assert told.brightness == 0.4
    assert (
        told.sentence
        == "First Try from 16:23 to 22:30 at 40\N{NO-BREAK SPACE}%, half as bright from 21:30."
    )
    assert night.plays("2026-11-25 18:00") == ("show.toml", 0.4)
    assert night.plays("2026-11-25 22:00") == ("show.toml", 0.2)
    # The slider moves on: still one table, and one step.
    night.do(Brightness, level=0.7)
    night.do(Brightness, level=0.6)
    assert len(night.once) == 1 and night.once[0]["brightness"] == 0.6
    night.do(UndoEvening)
    assert night.text == ALMANAC


def test_another_show_stays_as_dim_as_it_was(night):
    night.do(Brightness, level=0.4)
    told = night.do(Choose, file="other.toml")
    assert told.brightness == 0.4 and night.plays("2026-11-25 18:00") == ("other.toml", 0.4)


def test_dark_and_back(night):
    night.do(Brightness, level=0.4)
    told = night.do(Dark, dark=True)
    assert told.sentence == "Dark tonight." and told.dark and night.once == [{"date": "2026-11-25"}]
    assert night.plays("2026-11-25 18:00") is None
    assert night.plays("2026-11-26 18:00") == ("show.toml", 1.0)
    told = night.do(Dark, dark=False)
    assert not told.dark and told.brightness == 0.4
    night.do(UndoEvening)
    assert night.text == ALMANAC


def test_every_step_is_undone_to_the_same_bytes(night):
    texts = [night.text]
    for kind, words in (
        (Choose, {"file": "other.toml"}),
        (Dark, {"dark": True}),
        (Choose, {"file": "show.toml"}),
        (Brightness, {"level": 0.25}),
        (Dark, {"dark": True}),
    ):
        night.do(kind, **words)
        texts.append(night.text)
    for text in reversed(texts[:-1]):
        night.do(UndoEvening)
        assert night.text == text
    with pytest.raises(InputError, match="nothing to undo"):
        night.do(UndoEvening)


PARTY = (
    ALMANAC
    + """
# Everybody comes.
[[once]]
date = 2026-11-25      # a date, as TOML has them
name = "Party"
show = "other.toml"
from = "19:00"
to = "23:30"
"""
)


def test_a_party_written_by_hand_is_changed_and_comes_back(house):
    night = Night(house, PARTY)
    assert night.tell().sentence.startswith("Another One from 19:00 to 23:30")
    told = night.do(Brightness, level=0.5)
    assert told.pieces[0].rule == "Party" and night.once[0]["from"] == "19:00"
    night.do(Dark, dark=True)
    night.do(Dark, dark=False)
    night.do(UndoEvening)
    assert night.text == PARTY


def test_after_midnight_it_is_still_tonight(house):
    night = Night(house, ALMANAC.replace('to = "22:30"', 'to = "01:00"'))
    night.time = at("2026-11-26 00:30")
    assert night.tell().date == "2026-11-25"
    night.do(Dark, dark=True)
    assert night.once == [{"date": "2026-11-25"}]
    assert night.plays("2026-11-26 00:40") is None
    assert night.plays("2026-11-26 18:00") == ("show.toml", 1.0)


def test_a_dark_that_was_chosen_after_midnight_is_taken_back_of_the_same_evening(house):
    night = Night(house, ALMANAC.replace('to = "22:30"', 'to = "01:00"'))
    night.time = at("2026-11-26 00:30")
    night.do(Dark, dark=True)
    assert night.tell().dark and night.tell().date == "2026-11-25"
    night.do(Dark, dark=False)
    assert night.plays("2026-11-26 00:40") == ("show.toml", 1.0) and night.once == []


def test_a_dark_day_may_be_lit(house):
    night = Night(house, ALMANAC.replace("[almanac]", '[almanac]\ndark = "wednesday"'))
    told = night.tell()
    assert told.sentence == "Nothing plays tonight. Next: First Try on Thursday 26 November."
    with pytest.raises(InputError, match="nothing plays tonight; choose a show first"):
        night.do(Brightness, level=0.5)
    told = night.do(Choose, file="other.toml")
    assert told.sentence.startswith("Another One from 16:23 to 23:00")


def test_when_the_evening_is_over_it_asks_until_when(night):
    night.time = at("2026-11-25 23:10")
    assert night.tell().sentence.endswith("It is over for tonight.")
    with pytest.raises(InputError, match="tonight ended at 22:30; choose until when"):
        night.do(Choose, file="other.toml")
    with pytest.raises(InputError, match="tonight ended at 22:30; choose a show and its hours"):
        night.do(Brightness, level=0.5)
    assert not night.once, "nothing is written that changes nothing"
    told = night.do(Choose, file="other.toml", until="23:45")
    assert told.pieces[-1].on_now
    assert night.do(Brightness, level=0.5).brightness == 0.5
    with pytest.raises(InputError, match="isn't a time"):
        night.do(Choose, file="other.toml", until="late")


def test_several_shows_of_an_evening_are_dimmed_together(house):
    text = ALMANAC + (
        '\n[[rule]]\nname = "Hour"\nshow = "other.toml"\non = "monday..sunday"\n'
        'from = "19:00"\nto = "20:00"\npriority = 1\n'
    )
    night = Night(house, text)
    before = [night.plays(f"2026-11-25 {h}:30")[0] for h in range(17, 22)]
    assert before == ["show.toml", "show.toml", "other.toml", "show.toml", "show.toml"]
    night.do(Brightness, level=0.5)
    after = [night.plays(f"2026-11-25 {h}:30") for h in range(17, 22)]
    assert [a[0] for a in after] == before
    assert [a[1] for a in after] == [0.5, 0.5, 0.5, 0.5, 0.25]


def test_a_broken_almanac_changes_nothing_and_says_so(night):
    night.tell()
    night.path.write_text(ALMANAC.replace("[[rule]]", "[[rlue]]"), "utf-8")
    told = night.tell()
    assert "rlue" in told.problem and told.sentence.startswith("First Try from 16:23")
    with pytest.raises(InputError, match="rlue"):
        night.do(Dark, dark=True)
    assert "[[rlue]]" in night.text


def test_without_an_almanac_it_says_what_to_do(night):
    night.path.unlink()
    night.evening.book.folder.look()
    told = night.tell()
    assert told.file == "" and "lumenmap new makes one" in told.sentence
    with pytest.raises(InputError, match="no almanac"):
        night.do(Dark, dark=True)


def test_a_show_that_isnt_there_cant_be_chosen(night):
    with pytest.raises(InputError, match='no show file "othre.toml".*did you mean "other.toml"'):
        night.do(Choose, file="othre.toml")
    assert night.text == ALMANAC


def status(**words):
    """A status as `lumenmap run` writes it."""
    made = {"time": "2026-11-26T01:00:00Z", "started": "2026-11-26T00:00:00Z", "process": 7}
    made |= {"state": "waiting", "almanac": "almanac.toml", "zone": "America/Los_Angeles"}
    return json.dumps(made | words)


@pytest.mark.parametrize(
    ("text", "alive", "words"),
    [
        (None, None, ""),
        ("{", None, ""),
        ("[]", None, ""),
        (status(problems=["No\x1b show."]), True, "The evening's program: nothing plays now."),
        (status(time="2026-11-26T00:55:00Z"), False, "Not running: last heard from"),
        (status(state="stopped"), False, "Stopped"),
    ],
)
def test_what_run_says_of_itself_is_told(night, text, alive, words):
    state = night.path.parent / ".lumenmap"
    state.mkdir()
    if text is not None:
        (state / "status.json").write_text(text)
    told = night.tell().running
    assert (told is None) == (alive is None)
    if told:
        assert told.alive == alive and words in told.sentence
        assert not any("\x1b" in p for p in told.problems)


def test_by_the_socket_all_are_told(desk):
    one, two = desk.page(), desk.page()
    assert one.ask("dark", dark=True)["type"] == "accepted"
    two.until(lambda m: m["type"] == "evening" and m["tonight"]["dark"])
    assert two.ask("undo_evening")["type"] == "accepted"
    one.until(lambda m: m["type"] == "evening" and not m["tonight"]["dark"])
    # And what an editor writes.
    path = desk.folder / "almanac.toml"
    path.write_text(ALMANAC.replace('name = "Every evening"', 'name = "Typed"'), "utf-8")
    one.until(
        lambda m: (
            m["type"] == "evening" and any(p["rule"] == "Typed" for p in m["tonight"]["pieces"])
        )
    )
