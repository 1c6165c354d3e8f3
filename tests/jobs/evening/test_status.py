"""The heartbeat, what people read of it, and what stands in when nothing can be written."""

import json
import os
import re
import shutil
import subprocess
import sys
import threading
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from lumenmap.almanac.load import load_almanac
from lumenmap.core import notices
from lumenmap.core.errors import InputError
from lumenmap.core.folders.locks import FolderLock, is_held
from lumenmap.core.system import only_read
from lumenmap.desk.evenings.running import running
from lumenmap.jobs.evening.almanacs import Almanacs
from lumenmap.jobs.evening.amps import Amps
from lumenmap.jobs.evening.background import Every
from lumenmap.jobs.evening.good_shows import DangerousError, Obsolete
from lumenmap.jobs.evening.maker import AMPS, SUPPLIES, Maker
from lumenmap.jobs.evening.ready import Doing, Ready
from lumenmap.jobs.evening.state import open_state
from lumenmap.jobs.evening.status import Heart, Status, doing_now, read_status, status_file
from lumenmap.jobs.evening.status_words import words
from tests.jobs.evening.night_world import frames_of

BOOK = """
[almanac]
place = { latitude = 40.71, longitude = -74.01, timezone = "America/New_York" }
[[rule]]
name = "winter"
show = "frost.toml"
on = "every day"
from = "17:00"
to = "22:30"
brightness = 0.5
"""
NINE = datetime(2026, 11, 27, 2, tzinfo=UTC)  # nine in the evening of the 26th, New York


@pytest.fixture(autouse=True)
def _everything_can_be_told_again(monkeypatch):
    monkeypatch.setattr(notices, "_told", set())


@pytest.fixture
def book(tmp_path):
    file = tmp_path / "almanac.toml"
    file.write_text(BOOK)
    return load_almanac(file)


def parts(book, state="playing", **more):
    piece, coming = book.at(NINE), book.next(NINE)
    frames = frames_of("frost")
    ready = Ready(book, {(piece.show, 0.5, ()): frames}, ("waves.toml: no such show",))
    doing = Doing(state, ready, piece, frames, coming)
    return lambda: {**doing_now(doing), "process": 7, **more}


def test_a_status_comes_back_as_it_was_written(book, tmp_path):
    network = [{"address": "192.0.2.40:5568", "at": "192.0.2.40", "state": "no sign",
                "why": "host unreachable", "since": NINE - timedelta(minutes=10), "sent": 5,
                "lost": 4}]  # fmt: skip
    more = {
        "frames": {"sent": 1234, "dropped": 2, "packets": 3702, "lost": {"host unreachable": 40}},
        "amps": [{"name": "garage", "now": 1.5, "most": 4.25}],
        "network": network,
    }
    Heart(tmp_path / "status.json", parts(book, **more), lambda: NINE).beat()
    found = read_status(tmp_path / "almanac.toml")
    assert found.alive(NINE) and found.alive(NINE + timedelta(seconds=5))
    assert not found.alive(NINE + timedelta(seconds=16)), "nobody has written since"
    assert found.next_change == book.at(NINE).stop and found.problems
    assert words(found, NINE) == [
        "playing frost at 50 % (winter), until 22:30",
        "next: Friday 27 November 17:00 to 22:30, frost at 50 % (winter)",
        "current: garage 1.50 A now, 4.25 A at most",
        "since 21:00: 1,234 frames sent, 2 dropped; 40 packets lost (host unreachable: 40)",
        "controller 192.0.2.40:5568: no sign since 20:50: host unreachable",
        "problem: waves.toml: no such show",
    ]
    late = words(found, NINE + timedelta(hours=20))
    assert late[:2] == [
        "not running: last heard from at 21:00 on Thursday 26 November, then playing frost at 50 % "
        "(winter), until 22:30",
        f"to start it: lumenmap run {book.file} --to ADDRESS",
    ]
    assert not any(line.startswith(("next", "current")) for line in late), "none of that is so"
    unheard = words(found, NINE + timedelta(minutes=1), held=True)
    assert unheard[0].startswith("running: last heard from at 21:00, then playing")
    assert unheard[1].startswith("next: ")


@pytest.mark.parametrize(("dropped", "told"), [(12, False), (13, True)])
def test_it_says_why_so_many_frames_are_dropped_that_it_is_seen(book, dropped, told):
    frames = {"sent": 1234, "dropped": dropped}
    found = Status(time=NINE, started=NINE, **parts(book, frames=frames)())
    (line,) = (text for text in words(found, NINE) if text.startswith("since"))
    why = " (this computer was too busy when they were due, or asleep)" if told else ""
    assert line == f"since 21:00: 1,234 frames sent, {dropped} dropped{why}; 0 packets lost"


@pytest.mark.parametrize(
    ("state", "text"),
    [
        ("waiting", "nothing plays now"),
        ("nothing to play", "dark: there is no good show to play"),
        ("lent", "waiting while lumenmap locate (process 9) sends"),
        ("stopped", "stopped at 21:00"),
    ],
)
def test_what_else_it_may_be_doing(book, tmp_path, state, text):
    more = {"wire": "lumenmap locate (process 9)"}
    found = Status(time=NINE, started=NINE, **parts(book, state, **more)())
    assert words(found, NINE)[0] == text
    assert found.alive(NINE) == (state != "stopped") and found.playing is None


@pytest.mark.parametrize(
    ("text", "match"),
    [
        (None, "almanac.toml: no such file$"),
        ("", "status.json: isn't a status of lumenmap run"),
        ("[1]", "isn't a status of lumenmap run"),
        ('{"format": "lumenmap-status", "version": 2}', "isn't a status"),
        ('{"time": "soon"}', "status.json: .*isn't a status"),
    ],
)
def test_what_is_no_status_is_told(tmp_path, text, match):
    if text is not None:
        (tmp_path / "status.json").write_text(text)
    with pytest.raises(InputError, match=match):
        read_status(tmp_path / "almanac.toml")


@pytest.mark.parametrize("named", ["", "almanac.toml"])
def test_who_never_ran_it_is_told_how(tmp_path, named):
    (tmp_path / "almanac.toml").touch()
    start = re.escape(f"To start it: lumenmap run {tmp_path / 'almanac.toml'} --to ADDRESS")
    with pytest.raises(InputError, match=f"lumenmap run hasn't run here yet. {start}"):
        read_status(tmp_path / named)


def test_a_status_is_found_by_almanac_house_folder_or_state(tmp_path):
    inner = tmp_path / ".lumenmap" / "status.json"
    for path in (tmp_path / "almanac.toml", tmp_path, inner):
        assert status_file(path) == inner
    assert status_file(tmp_path / ".lumenmap").name == "status.json"


def test_a_status_that_can_not_be_written_is_told_once(book, tmp_path, caplog):
    seen = []
    heart = Heart(tmp_path / "no" / "status.json", parts(book), lambda: NINE, seen.append)
    for _ in range(50):
        heart.beat()
    assert caplog.text.count("playing continues without it") == 1
    assert len(seen) == 50, "a hub is told all the same"
    (tmp_path / "no").mkdir()
    for _ in range(40):
        heart.beat()
    assert (tmp_path / "no" / "status.json").exists(), "tried again, though not at once"


def test_the_last_good_almanac_outlives_a_restart(tmp_path):
    file, kept, said = tmp_path / "almanac.toml", tmp_path / "kept", []
    kept.mkdir()
    (tmp_path / "house.toml").write_text(
        '[house]\nplace = { latitude = 40.71, longitude = -74.01, timezone = "America/New_York" }\n'
    )
    file.write_text('[almanac]\nhouse = "house.toml"\n' + BOOK.split("\n", 3)[3])
    first = Almanacs(file, kept, said.append)
    first.keep()
    for name, text in (("almanac.toml", "[almanac"), ("house.toml", "[house")):
        (tmp_path / name).write_text(text)
        again = Almanacs(file, kept, said.append)
        assert again().at(NINE) == first().at(NINE)
        assert again.problem.endswith("the previous almanac stays in use")
        assert again.problem in said
    # A name that was mistyped, or a show's, is said at once; another almanac isn't played.
    for name in ("almanach.toml", "show.toml"):
        with pytest.raises(InputError, match=name):
            Almanacs(tmp_path / name, kept)
    nameless = json.loads((kept / "almanac.json").read_text())
    del nameless["file"]
    (kept / "almanac.json").write_text(json.dumps(nameless))  # as an earlier version wrote it
    assert Almanacs(file, kept)().at(NINE) == first().at(NINE)
    for name in ("almanach.toml", "show.toml"):
        with pytest.raises(InputError, match=name):
            Almanacs(tmp_path / name, kept)
    (kept / "almanac.json").write_text("{}")
    with pytest.raises(InputError, match="almanac.toml: isn't TOML"):
        Almanacs(file, kept)


def test_a_house_that_gives_the_place_is_read_again_when_it_changes(tmp_path):
    place = (
        '[house]\nplace = {{ latitude = 40.71, longitude = {}, timezone = "America/New_York" }}\n'
    )
    (tmp_path / "house.toml").write_text(place.format("-74.01"))
    file = tmp_path / "almanac.toml"
    file.write_text('[almanac]\nhouse = "house.toml"\n[[rule]]\nshow = "a.toml"\non = "daily"\n')
    read = Almanacs(file)
    (tmp_path / "house.toml").write_text(place.format("-80.5"))
    assert read.changed() and read().place.longitude == -80.5


def test_the_last_status_is_written_though_the_disk_was_full_just_before(book, tmp_path):
    """Else it would say that the evening plays, and then that it ended unheard."""
    file = tmp_path / "here" / "status.json"
    file.parent.write_text("in the way")
    state = ["playing"]
    heart = Heart(file, lambda: parts(book, state[0])(), lambda: NINE)
    for _ in range(9):
        heart.beat()
    file.parent.unlink()
    file.parent.mkdir()
    heart.beat()
    assert not file.exists(), "it is tried less and less often"
    state[0] = "stopped"
    heart.beat(last=True)
    assert read_status(file).state == "stopped"


def test_a_show_that_is_ready_at_another_brightness_goes_by_its_title(book):
    piece, frames = book.at(NINE), replace(frames_of("frost"), meta={"show": "First Frost"})
    assert Ready(book, {(piece.show, 1.0, ()): frames}).title(piece) == "First Frost"
    assert Ready(book, {(piece.show.with_name("b.toml"), 1.0, ()): frames}).title(piece) == "frost"


def test_a_show_that_is_not_there_is_said_once_when_the_almanac_is_read(tmp_path):
    file, said = tmp_path / "almanac.toml", []
    head = (
        '[almanac]\nplace = { latitude = 40.7, longitude = -74, timezone = "America/New_York" }\n'
    )
    rule = '[[rule]]\nname = "Eve"\nshow = "spraks.toml"\non = "12-31"\n'
    file.write_text(head + rule)
    (tmp_path / "sparks.toml").write_text("[show]\n")
    read = Almanacs(file, say=said.append)
    assert said == ['spraks.toml, the show of Eve, doesn\'t exist; did you mean "sparks.toml"?']
    file.write_text(head + rule + "brightness = 0.5\n")
    read()
    assert len(said) == 1


def test_a_state_folder_that_can_not_be_made(tmp_path, caplog):
    (tmp_path / "file").write_text("")
    with open_state(tmp_path / "file" / "state") as folder:
        assert folder.is_dir()
        (folder / "x").write_text("")
    assert not folder.exists() and "the state is kept in memory" in caplog.text
    with (
        pytest.raises(InputError, match="is a file; expected a folder"),
        open_state(tmp_path / "file"),
    ):
        raise AssertionError
    (tmp_path / "link").symlink_to(tmp_path)
    with (
        pytest.raises(InputError, match="is a link; name the folder"),
        open_state(tmp_path / "link"),
    ):
        raise AssertionError


def test_work_beside_the_light_may_fail(caplog):
    calls = threading.Semaphore(0)

    def fail():
        calls.release()
        raise RuntimeError("no more disks")

    every = Every(0.01, fail, "looking at disks")
    every.start()
    assert all(calls.acquire(timeout=10) for _ in range(5))
    every.stop()
    assert (
        caplog.text.count("looking at disks: RuntimeError: no more disks; the lights keep playing")
        == 1
    )


def test_current_is_that_of_the_frame_that_is_due(book, tmp_path):
    piece, frames = book.at(NINE), frames_of("frost", count=30)
    np.save(tmp_path / AMPS, np.arange(30, dtype=np.float32)[:, None] / 10 + 1)
    (tmp_path / SUPPLIES).write_text(json.dumps([{"name": "garage", "idle": 0.5}]))
    moment = piece.begun + timedelta(seconds=100.5)  # 30 frames/s, of 30: the 15th
    (row,) = Amps().rows(piece, frames, tmp_path, moment)
    # Half as bright: half of what is above idle.
    assert row == {"name": "garage", "now": 0.5 + 2.0 / 2, "most": round(0.5 + 3.4 / 2, 3)}
    assert Amps().rows(piece, frames, None, moment) == []
    np.save(tmp_path / AMPS, np.zeros((3, 1), np.float32))
    assert Amps().rows(piece, frames, tmp_path, moment) == [], "of another show"


def test_shows_are_made_in_another_process_whose_errors_arrive(examples, tmp_path):
    house = tmp_path / "house"
    shutil.copytree(examples / "tannery-row", house, ignore=shutil.ignore_patterns(".*"))
    show = house / "tide-lamps.toml"
    maker, made = Maker(), tmp_path / "made"
    made.mkdir()
    maker.render(show, made, 0.5, ())
    assert maker.check(made / "frames.json") == []
    supplies = json.loads((made / SUPPLIES).read_text())
    amps = np.load(made / AMPS)
    assert amps.shape[1] == len(supplies) > 0 and (amps >= supplies[0]["idle"] - 1e-6).any()
    (house / "broken.toml").write_text('[show]\nname = "x"\nfps = 0\n')
    with pytest.raises(InputError, match=r"^broken.toml: ") as told:
        maker.render(house / "broken.toml", made, 1.0, ())
    assert told.value.file == str(house / "broken.toml")


def test_a_process_that_dies_or_is_no_longer_wanted(tmp_path):
    dying = Maker(command=[sys.executable, "-c", "import os; os.kill(os.getpid(), 9)"])
    with pytest.raises(Exception, match=r"the process that made it ended early \(signal 9\)"):
        dying.check(tmp_path / "frames.json")
    began = time.monotonic()
    idle = Maker(command=[sys.executable, "-c", "import time; time.sleep(60)"])
    idle.obsolete = lambda: time.monotonic() > began + 0.5
    with pytest.raises(Obsolete):
        idle.check(tmp_path / "frames.json")
    assert time.monotonic() - began < 20
    answer = json.dumps({"kind": "danger", "text": "house.toml: DANGER: no fuse"})
    danger = Maker(command=[sys.executable, "-c", f"print({answer!r})"])
    with pytest.raises(DangerousError, match="DANGER: no fuse"):
        danger.check(tmp_path / "frames.json")


def test_status_as_a_command(book, tmp_path):
    (tmp_path / ".lumenmap").mkdir()
    now = datetime.now(UTC)
    Heart(tmp_path / ".lumenmap" / "status.json", parts(book), lambda: now).beat()
    words = [sys.executable, "-m", "lumenmap", "status", tmp_path / "almanac.toml"]
    got = subprocess.run(words, capture_output=True, text=True)
    assert got.returncode == 1 and got.stdout.startswith("playing frost at 50 % (winter)"), got
    assert (
        json.loads(subprocess.run([*words, "--json"], capture_output=True).stdout)["process"] == 7
    )
    got = subprocess.run(
        [*words[:-1], tmp_path / "x" / "almanac.toml"], capture_output=True, text=True
    )
    assert got.returncode == 2 and "almanac.toml: no such file" in got.stderr


def test_a_card_that_is_only_read_is_told(book, tmp_path, lumenmap, monkeypatch):
    """What lumenmap run does can't be written there, so the last that was is no news."""
    (tmp_path / ".lumenmap").mkdir()
    Heart(tmp_path / ".lumenmap" / "status.json", parts(book), lambda: datetime.now(UTC)).beat()
    before = lumenmap("status", tmp_path).out
    assert before.startswith("playing") and "can only be read" not in before
    real = os.statvfs(tmp_path)
    asked = []

    def failed(path):
        asked.append(path)
        return SimpleNamespace(f_flag=real.f_flag | os.ST_RDONLY)

    monkeypatch.setattr(os, "statvfs", failed)
    got = lumenmap("status", tmp_path)
    folder = tmp_path / ".lumenmap"
    assert got.code == 1 and asked == [folder]
    assert got.out.splitlines()[-1].startswith(f"problem: {folder} can only be read now")
    (folder / "status.json").unlink()  # it was only read when the evening began
    says = r"there is no status: this disk can only be read now, .* isn't known. Look at its log"
    lumenmap("status", tmp_path).fails(2, says)


def test_an_evening_that_cant_write_what_it_does_is_told(book, tmp_path, lumenmap):
    """On a full disk: the light plays on, and its last status, or none, is old news."""
    folder = tmp_path / ".lumenmap"
    folder.mkdir()
    (tmp_path / "almanac.toml").write_text("")
    assert "hasn't run here yet" in lumenmap("status", tmp_path).err
    hour_ago = datetime.now(UTC) - timedelta(hours=1)
    with FolderLock(folder):
        lumenmap("status", tmp_path).fails(2, "lumenmap run plays here, but can't write its status")
        Heart(folder / "status.json", parts(book), lambda: hour_ago).beat()
        got = lumenmap("status", tmp_path)
        assert got.code == 1 and got.out.startswith("running: last heard from ")
        assert got.out.splitlines()[-1].startswith(f"problem: {folder} isn't written now")
        told = running(tmp_path, datetime.now(UTC))
        assert told.alive and "is its disk full" in told.problems[0]
    assert lumenmap("status", tmp_path).out.startswith("not running: last heard from ")
    assert not running(tmp_path, datetime.now(UTC)).alive
    assert not is_held(tmp_path / "nothing")


def test_what_isnt_there_isnt_only_read(tmp_path):
    assert not only_read(tmp_path) and not only_read(tmp_path / "nothing")
