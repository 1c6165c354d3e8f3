"""Two phones, an editor, a strange page: who chooses evenings at the same time."""

import re
from datetime import timedelta

import pytest
from pydantic import ValidationError

from lumenmap.core.errors import InputError
from lumenmap.desk.evenings import book as book_module
from lumenmap.desk.files.folder import ChangedError
from lumenmap.desk.wire import stretch as wire
from lumenmap.desk.wire.asked import Dark, UndoEvening
from lumenmap.desk.wire.days import AskDays, SetDays, Wish
from tests.desk.conftest import ALMANAC
from tests.desk.evenings.person import day


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


def test_what_an_editor_changed_doesnt_hide_what_can_be_undone(days):
    days.choose("2026-12-24", what="dark")
    days.choose("2026-12-26", what="dark")
    days.path.write_text(days.text.replace("2026-12-26", "2026-12-27"), "utf-8")
    with pytest.raises(InputError, match="changed meanwhile"):
        days.do(UndoEvening)
    assert days.tell().undoes == "Dark on Thursday 24 December"
    days.do(UndoEvening)
    assert days.once == [{"date": "2026-12-27"}]


def test_what_an_editor_blocked_can_be_undone_once_the_editor_takes_that_back(days):
    days.choose("2026-12-24", what="dark")
    days.choose("2026-12-26", what="dark")
    mine = days.text
    days.path.write_text(mine.replace("2026-12-26", "2026-12-27"), "utf-8")
    with pytest.raises(InputError, match="changed meanwhile"):
        days.do(UndoEvening)
    days.path.write_text(mine, "utf-8")
    assert days.tell().undoes == "Dark on Saturday 26 December"
    days.do(UndoEvening)
    days.do(UndoEvening)
    assert days.once == [] and not days.tell().can_undo


def test_undo_takes_back_what_was_read_and_nothing_else(days):
    """Touched twice, it took back two changes; on another phone, what somebody had just chosen."""
    days.choose("2026-12-24", what="dark")
    days.choose("2026-12-26", what="dark")
    read = days.tell().undoes
    assert not days.do(UndoEvening, undoes=read).undoes.endswith("26 December")
    with pytest.raises(
        InputError,
        match="“Dark on Saturday 26 December” isn't the last change any more, so nothing was undone. "
        "Undo would now take back “Dark on Thursday 24 December”",
    ):
        days.do(UndoEvening, undoes=read)
    assert days.once == [{"date": "2026-12-24"}]
    days.do(Dark, dark=True)
    assert days.do(UndoEvening, undoes="Dark tonight").undoes == "Dark on Thursday 24 December"


def test_light_again_though_an_editor_changed_what_was_dark(days):
    days.do(Dark, dark=True)
    days.path.write_text(days.text.rstrip() + '\nname = "Storm"\n', "utf-8")
    assert not days.do(Dark, dark=False).dark


def test_by_the_socket_the_next_step_is_told_when_one_is_refused(desk):
    page, path = desk.page(), desk.folder / "almanac.toml"
    tonight = day(page.told["evening"]["tonight"]["date"])
    for days in (10, 12):
        date = str(tonight + timedelta(days=days))
        wish = {"first": date, "last": date, "what": "dark"}
        agreed = page.ask("ask_days", wish=wish)["sentence"]
        assert page.ask("set_days", wish=wish, agreed=agreed)["type"] == "accepted"
    other = str(tonight + timedelta(days=13))
    path.write_text(path.read_text("utf-8").replace(date, other), "utf-8")
    assert page.ask("undo_evening")["type"] == "refused"
    first = (tonight + timedelta(days=10)).day
    page.until(
        lambda m: m["type"] == "evening" and f" {first} " in m["tonight"]["undoes"], seconds=3
    )


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
    for row in one.told["shows"]["shows"]:
        assert 3 <= len(row["colours"]) <= 9
        assert all(re.fullmatch("#[0-9a-f]{6}", colour) for colour in row["colours"])


def test_a_phone_for_the_evening_may_do_it(desk):
    token, _ = desk.desk.pairing.invite("evening")
    got = desk.http("GET", f"/open?token={token}")
    phone = desk.page(got.headers["set-cookie"].split(";")[0])
    phone.send("look_days", first=None, count=7)
    told = phone.until(lambda m: m["type"] == "days")
    wish = {"first": told["days"][2]["date"], "last": told["days"][2]["date"], "what": "dark"}
    answer = phone.ask("ask_days", wish=wish)
    assert phone.ask("set_days", wish=wish, agreed=answer["sentence"])["type"] == "accepted"
