"""Hours of every evening: told in a sentence, changed by whole lists, comments kept."""

import tomllib
from datetime import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.desk.evenings.hours import hours_edits, hours_words
from lumenmap.desk.files.edits import edited
from lumenmap.desk.wire.asked import UndoEvening
from lumenmap.desk.wire.hours import DimHours, Hours, QuietHours, SetHours
from tests.desk.conftest import ALMANAC

LATE = DimHours(start="21:30", stop="23:00", level=0.5)
QUIET = QuietHours(start="23:00", stop="06:00")
NOW = Hours(dims=[LATE], quiet=None)
PLACE = (
    '[almanac]\nplace = { latitude = 47.6, longitude = -122.3, timezone = "America/Los_Angeles" }\n'
)


def table(hours):
    """Hours as a person writes them, with a remark each."""
    rest = f"brightness = {hours.level}\n" if isinstance(hours, DimHours) else ""
    return f'from = "{hours.start}"  # since {hours.start}\nto = "{hours.stop}"\n{rest}'


def written(hours):
    text = PLACE + "".join(f"\n[[dim]]  # no. {n}\n{table(d)}" for n, d in enumerate(hours.dims))
    return text + (f"\n[quiet]\n{table(hours.quiet)}" if hours.quiet else "")


def in_file(text):
    data = tomllib.loads(text)
    dims = [
        DimHours(start=d["from"], stop=d["to"], level=d["brightness"]) for d in data.get("dim", ())
    ]
    quiet = data.get("quiet")
    return Hours(dims=dims, quiet=quiet and QuietHours(start=quiet["from"], stop=quiet["to"]))


CLOCK = st.sampled_from(["21:00", "22:30", "sunset + 2 h", "23:00", "01:00"])
DIM = st.builds(DimHours, start=CLOCK, stop=CLOCK, level=st.sampled_from([0.2, 0.5, 1.0]))
HOURS = st.builds(
    Hours,
    dims=st.lists(DIM, max_size=4),
    quiet=st.none() | st.builds(QuietHours, start=CLOCK, stop=CLOCK),
)


@given(HOURS, HOURS)
def test_any_hours_become_any_others(now, wanted):
    text = written(now)
    assert in_file(edited(text, hours_edits(tomllib.loads(text), now, wanted))) == wanted


def test_the_remarks_of_tables_that_stay_stay_with_them():
    dims = [LATE.model_copy(update={"level": level}) for level in (0.2, 0.5, 0.9)]
    now = Hours(dims=dims, quiet=QUIET)
    text = written(now)
    fewer = now.model_copy(update={"dims": [dims[0], dims[2]]})
    made = edited(text, hours_edits(tomllib.loads(text), now, fewer))
    assert "no. 0" in made and "no. 1" not in made and "no. 2" in made
    later = QuietHours(start="23:30", stop="06:00")
    made = edited(text, hours_edits(tomllib.loads(text), now, Hours(dims=dims, quiet=later)))
    assert 'from = "23:30"  # since 23:00' in made, "one value changed, nothing else"


def test_hours_in_a_sentence(night):
    assert night.tell().hours_sentence == "Every evening: half as bright from 21:30 to 23:00."
    said = hours_words(
        Hours(
            dims=[LATE, DimHours(start="sunset + 2 h", stop="01:00", level=0.2)],
            quiet=QUIET,
        )
    )
    assert said == (
        "Every evening: half as bright from 21:30 to 23:00; at 20\N{NO-BREAK SPACE}% from 2 h after "
        "sunset to 01:00; nothing plays from 23:00 to 06:00."
    )
    none = Hours(dims=[], quiet=None)
    assert hours_words(none) == "Every evening: as bright as the shows are, all the time."


def test_what_is_changed_is_what_plays_and_is_taken_back(night):
    dimmer = Hours(dims=[LATE.model_copy(update={"start": "20:00", "level": 0.25})], quiet=None)
    told = night.do(SetHours, hours=dimmer, seen=NOW)
    assert told.hours == dimmer and told.undoes == "Hours of every evening"
    assert told.sentence.endswith(", at 25\N{NO-BREAK SPACE}% from 20:00.")
    assert night.plays("2026-11-25 21:00") == ("show.toml", 0.25)
    assert night.plays("2026-12-25 21:00") == ("show.toml", 0.25), (
        "every evening, not tonight alone"
    )
    quiet = dimmer.model_copy(update={"quiet": QuietHours(start="22:00", stop="06:00")})
    night.do(SetHours, hours=quiet, seen=dimmer)
    assert night.plays("2026-11-25 22:10") is None
    for _ in range(2):
        night.do(UndoEvening)
    assert night.text == ALMANAC


def test_a_slider_that_moves_on_is_one_step(night):
    last = NOW
    for level in (0.45, 0.4, 0.35):
        hours = Hours(dims=[LATE.model_copy(update={"level": level})], quiet=None)
        night.do(SetHours, hours=hours, seen=last)
        last = hours
    night.do(UndoEvening)
    assert night.text == ALMANAC


def test_hours_taken_out_one_after_another_come_back_one_by_one(night):
    two = Hours(
        dims=[LATE, LATE.model_copy(update={"start": "23:00", "stop": "01:00"})], quiet=None
    )
    night.do(SetHours, hours=two, seen=NOW)
    one = two.model_copy(update={"dims": two.dims[1:]})
    night.do(SetHours, hours=one, seen=two)
    night.do(SetHours, hours=Hours(dims=[], quiet=None), seen=one)
    for hours in (one, two, NOW):
        assert night.do(UndoEvening).hours == hours


def test_hours_that_an_editor_changed_meanwhile_are_left(night):
    night.path.write_text(ALMANAC.replace("21:30", "21:00"), "utf-8")
    with pytest.raises(
        InputError, match=r"changed meanwhile, so nothing was done. Every evening: .* from 21:00"
    ):
        night.do(SetHours, hours=Hours(dims=[], quiet=None), seen=NOW)
    assert "21:00" in night.text


@pytest.mark.parametrize(
    ("hours", "why"),
    [
        (
            Hours(dims=[LATE.model_copy(update={"stop": "late"})], quiet=None),
            '"late" isn\'t a time',
        ),
        (Hours(dims=[LATE.model_copy(update={"stop": "21:30"})], quiet=None), "dim 1"),
        (Hours(dims=[LATE], quiet=QuietHours(start="2230", stop="06:00")), 'write "22:30"'),
    ],
)
def test_hours_that_are_none_change_nothing(night, hours, why):
    with pytest.raises(InputError, match=why):
        night.do(SetHours, hours=hours, seen=NOW)
    assert night.text == ALMANAC


def test_times_that_are_written_without_quotes_are_hours_too(night):
    night.path.write_text(ALMANAC.replace('"21:30"', "21:30:00"), "utf-8")
    assert night.tell().hours == NOW
    told = night.do(SetHours, hours=Hours(dims=[], quiet=QUIET), seen=NOW)
    assert told.hours == Hours(dims=[], quiet=QUIET)
    night.do(UndoEvening)
    assert tomllib.loads(night.text)["dim"][0]["from"] == time(21, 30)
