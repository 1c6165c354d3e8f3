"""What choosing evenings does to the almanac's text, and that undo gives every byte back."""

import errno
import tomllib
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.desk.light.live import Live
from lumenmap.desk.session import Session
from lumenmap.desk.take_up import take_up
from lumenmap.desk.wire.asked import UndoEvening
from tests.desk.conftest import ALMANAC
from tests.desk.evenings.person import Days, day

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


def test_a_full_disk_is_told_in_a_sentence(desk, monkeypatch):
    def refuse(path):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("lumenmap.core.system.flush", refuse)
    before = (desk.folder / "almanac.toml").read_bytes()
    answer = desk.page().ask("brightness", level=0.5)
    # An evening that is over, by the clock of whoever runs this test, is refused for that.
    full = "Nothing was changed: almanac.toml can't be written: the disk is full."
    assert answer["sentence"] == full or "ended at" in answer["sentence"]
    answer = desk.page().ask("dark", dark=True)
    assert answer["sentence"] == full
    assert (desk.folder / "almanac.toml").read_bytes() == before


def test_a_file_that_is_gone_for_a_moment_or_empty_keeps_what_can_be_undone(house, days):
    """Some editors delete a file and write it anew, or empty it first."""
    live = Live(lambda take: None, lambda take, why: None)
    session = Session(house, live)
    evening, before = days.evening, days.text
    evening.book.folder = session.folder
    days.choose("2026-12-24", what="dark")
    text = days.text
    days.path.unlink()
    take_up(session, evening, {"almanac.toml"})
    assert "no almanac" in evening.coming(None, 7).problem
    days.path.write_text("", "utf-8")
    take_up(session, evening, {"almanac.toml"})
    assert "[almanac] table is missing" in evening.coming(None, 7).problem
    days.path.write_text(text, "utf-8")
    take_up(session, evening, {"almanac.toml"})
    days.do(UndoEvening)
    assert days.text == before


def test_an_empty_almanac_is_not_called_none(days):
    """lumenmap new, which makes one where there is none, wouldn't help."""
    fresh = Days(days.path.parent, "")
    assert "almanac.toml: [almanac] table is missing" in fresh.evening.coming(None, 7).problem
