"""Only what a record of ours names is replaced or deleted, never through a link, one at a time."""

import hashlib
import json
import logging
import multiprocessing
import os
import subprocess
import sys
import threading

import pytest

from lumenmap.core import notices
from lumenmap.core.errors import InputError
from lumenmap.core.files import write_whole
from lumenmap.core.folders import locks, stages
from lumenmap.core.folders.locks import LOCK, FolderLock
from lumenmap.core.folders.output_set import OutputSet, finish_interrupted
from lumenmap.core.folders.stages import RECORD, digest

STAGE = ".lumenmap-set-0123456789abcdef"


def write(folder, drops="", **files):
    with OutputSet(folder, drops=drops) as out:
        for name, text in files.items():
            out.path(name).write_text(text)


@pytest.fixture
def told(caplog, monkeypatch):
    """What notices say in this test."""
    monkeypatch.setattr(notices, "_told", set())
    caplog.set_level(logging.WARNING, "lumenmap")
    return lambda: [r.getMessage() for r in caplog.records]


def stage(folder, files, plan=None, name=STAGE):
    """A stage as a killed program leaves it, or as somebody else would forge it."""
    made = folder / name
    made.mkdir()
    (made / ".begun").write_text(name)
    for file, text in files.items():
        (made / file).write_text(text)
    moving = {f: digest(made / f) for f in files}
    (made / ".plan").write_text(json.dumps(plan or {"moving": moving, "dropping": {}}))
    return made


def test_a_file_that_is_not_ours_is_not_replaced(tmp_path):
    (tmp_path / "a").write_text("mine")
    says = r"^a: is there already, and there is no record that lumenmap wrote it: choose another folder"
    made_by_old = ", or delete this one if lumenmap 0.1 made it, which kept no record"
    with pytest.raises(InputError, match=f"{says}{made_by_old}$"):
        write(tmp_path, a="theirs")
    with pytest.raises(InputError, match=f"{says}$"), OutputSet(tmp_path, starting=True) as out:
        out.path("a")  # files for people to go on with: never a word of deleting them
    assert (tmp_path / "a").read_text() == "mine"
    assert os.listdir(tmp_path) == ["a"]


def test_a_file_that_appears_meanwhile_is_not_replaced(tmp_path):
    with pytest.raises(InputError, match="no record"), OutputSet(tmp_path) as out:
        out.path("a").write_text("theirs")
        out.path("b").write_text("theirs")
        (tmp_path / "b").write_text("mine")
    assert os.listdir(tmp_path) == ["b"]


def test_what_is_dropped_is_ours_and_as_we_left_it(tmp_path):
    (tmp_path / "n-mine").write_text("mine")
    write(tmp_path, **{"n-1": "x", "n-2": "x", "n-3": "x", "other": "x"})
    (tmp_path / "n-2").write_text("changed by hand")
    write(tmp_path, drops="n-*", **{"n-1": "y"})
    assert sorted(os.listdir(tmp_path)) == [RECORD, "n-1", "n-2", "n-mine", "other"]
    write(tmp_path, **{"n-1": "z"})  # what was dropped and what was not are both still known
    assert set(json.loads((tmp_path / RECORD).read_text())["files"]) == {"n-1", "other"}


@pytest.mark.parametrize("bad", ["{", "[]", '{"files": {"../a": "x"}}', "[" * 100_000, "\0"])
def test_a_damaged_record_protects_everything(tmp_path, bad):
    write(tmp_path, a="ours")
    (tmp_path / RECORD).write_text(bad)
    with pytest.raises(InputError, match="no record"):
        write(tmp_path, a="ours again")
    write(tmp_path, b="other")
    assert (tmp_path / "a").read_text() == "ours"


def test_nothing_is_written_through_a_link(tmp_path):
    precious, out = tmp_path / "precious", tmp_path / "out"
    precious.write_text("precious")
    write(out, a="x")
    (out / "a").unlink()
    (out / "a").symlink_to(precious)
    with pytest.raises(InputError, match=r"^a: is a link; name the file itself"):
        write(out, a="y")
    with pytest.raises(InputError, match=r"^a: is a link"):
        write_whole(out / "a", "y")
    (tmp_path / "link").symlink_to(out)
    with pytest.raises(InputError, match="^link: is a link; name the folder"):
        write(tmp_path / "link", b="y")
    for hidden in (LOCK, RECORD):
        (out / hidden).unlink(missing_ok=True)
        (out / hidden).symlink_to(precious)
        with pytest.raises(InputError, match="is a link"):
            write(out, a="y")
    assert precious.read_text() == "precious"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_device_is_not_replaced(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputError, match="pipe: is a device or a pipe"):
        write_whole(tmp_path / "pipe", "x")
    with pytest.raises(InputError, match="full: is a device or a pipe"):
        write_whole("/dev/full", "x")


def test_an_interrupted_set_is_finished_whatever_process_has_its_number(tmp_path):
    write(tmp_path, a="old", b="old")
    left = stage(tmp_path, {"a": "new", "b": "new"})
    (left / "a").replace(tmp_path / "a")
    finish_interrupted(tmp_path)
    assert (tmp_path / "a").read_text() == (tmp_path / "b").read_text() == "new"
    assert not left.exists()


def test_a_damaged_stage_is_thrown_away_and_said(tmp_path, told):
    write(tmp_path, a="old")
    left = stage(tmp_path, {"a": "new"})
    (left / "a").write_text("ne")
    finish_interrupted(tmp_path)
    assert (tmp_path / "a").read_text() == "old" and not left.exists()
    assert told() == [f"{tmp_path}: an interrupted set of files is damaged; run the command again"]


@pytest.mark.parametrize("name", [".lumenmap-old-photos", ".lumenmap-1-x", ".lumenmap-set-mine"])
def test_a_folder_that_only_looks_like_a_stage_is_left_alone(tmp_path, name):
    (tmp_path / name).mkdir()
    (tmp_path / name / "photo").write_text("mine")
    (tmp_path / STAGE).mkdir()  # the right name, but not begun by us
    (tmp_path / STAGE / "photo").write_text("mine")
    write(tmp_path, a="x")
    finish_interrupted(tmp_path)
    assert (tmp_path / name / "photo").exists() and (tmp_path / STAGE / "photo").exists()


def test_a_stage_that_is_a_link_or_holds_links_moves_nothing_in(tmp_path):
    outside, folder = tmp_path / "outside", tmp_path / "folder"
    outside.mkdir()
    folder.mkdir()
    (outside / "secret").write_text("secret")
    stage(outside, {"a": "theirs"})
    (folder / STAGE).symlink_to(outside / STAGE)
    other = stage(folder, {"b": "theirs"}, name=STAGE[:-1] + "0")
    (other / "b").unlink()
    (other / "b").symlink_to(outside / "secret")
    finish_interrupted(folder)
    assert [p.name for p in folder.iterdir()] == [STAGE]
    assert sorted(p.name for p in outside.iterdir()) == [STAGE, "secret"]


@pytest.mark.parametrize(
    "plan",
    [
        {"moving": {"../up": "x"}, "dropping": {}},
        {"moving": {}, "dropping": {"../precious": hashlib.sha256(b"x").hexdigest()}},
        {"moving": {"a\0": "x"}, "dropping": {}},
        {"moving": [], "dropping": {}},
        {"moving": {"a": 5}, "dropping": {}},
    ],
)
def test_a_forged_plan_reaches_nothing(tmp_path, plan):
    folder = tmp_path / "folder"
    folder.mkdir()
    (tmp_path / "precious").write_text("x")
    stage(folder, {"a": "x"}, plan)
    finish_interrupted(folder)
    assert [p.name for p in tmp_path.iterdir() if p != folder] == ["precious"]
    assert list(folder.iterdir()) == []


def test_a_set_that_cannot_be_moved_in_stays_for_the_next_run(tmp_path):
    write(tmp_path, a="old", b="old")
    left = stage(tmp_path, {"a": "new", "b": "new"})
    (tmp_path / "b").unlink()
    (tmp_path / "b").mkdir()
    with pytest.raises(InputError, match="b: is a folder"):
        write(tmp_path, a="newer")
    assert left.exists() and (tmp_path / "a").read_text() == "old"
    (tmp_path / "b").rmdir()
    finish_interrupted(tmp_path)
    assert (tmp_path / "a").read_text() == (tmp_path / "b").read_text() == "new"


def test_a_move_that_fails_half_way_is_finished_by_the_next_reader(tmp_path, monkeypatch):
    write(tmp_path, a="old", b="old")
    moved, replace = [], stages.system.replace

    def full(source, target):
        moved.append(target.name)
        if len(moved) == 2:
            raise PermissionError(13, "Permission denied")
        replace(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(stages.system, "replace", full)
        with pytest.raises(InputError, match="can't be written: Permission denied"):
            write(tmp_path, a="new", b="new")
    assert ((tmp_path / "a").read_text(), (tmp_path / "b").read_text()) == ("new", "old")
    finish_interrupted(tmp_path)
    assert ((tmp_path / "a").read_text(), (tmp_path / "b").read_text()) == ("new", "new")


def test_the_second_writer_waits_and_says_for_what(tmp_path, told):
    order = []

    def second():
        with OutputSet(tmp_path) as out:
            order.append("second")
            out.path("a").write_text("second")

    with OutputSet(tmp_path) as out:
        thread = threading.Thread(target=second)
        thread.start()
        thread.join(0.6)
        order.append("first")
        out.path("a").write_text("first")
    thread.join(10)
    assert order == ["first", "second"] and (tmp_path / "a").read_text() == "second"
    assert told() == [
        f"{tmp_path}: another lumenmap is writing to this folder; waiting for it to end"
    ]
    assert sorted(os.listdir(tmp_path)) == [RECORD, "a"]


def test_the_second_writer_gives_up_clearly(tmp_path, monkeypatch):
    with (
        FolderLock(tmp_path),
        pytest.raises(InputError, match="another lumenmap is writing to this folder; try again"),
        FolderLock(tmp_path, wait=0),
    ):
        pass


def test_a_reader_leaves_a_living_writer_alone(tmp_path):
    with OutputSet(tmp_path) as out:
        out.path("a").write_text("x")
        finish_interrupted(tmp_path)
        assert out.path("a").exists()


def test_a_folder_without_locks_is_told_and_written(tmp_path, told, monkeypatch):
    def none(fd):
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(locks.system, "lock", none)
    write(tmp_path, a="x")
    write(tmp_path, a="y")
    assert (tmp_path / "a").read_text() == "y"
    assert len(told()) == 1 and "can't be locked (Operation not supported)" in told()[0]


def count(folder, rounds):
    for _ in range(rounds):
        with FolderLock(folder):
            now = int((folder / "n").read_text())
            (folder / "n").write_text(str(now + 1))


def test_only_one_holds_the_lock_of_many(tmp_path):
    """Lock files come and go; a counter that four processes raise loses nothing."""
    (tmp_path / "n").write_text("0")
    fresh = multiprocessing.get_context("spawn")
    workers = [fresh.Process(target=count, args=(tmp_path, 25)) for _ in range(4)]
    for w in workers:
        w.start()
    for w in workers:
        w.join(60)
    assert (tmp_path / "n").read_text() == "100"


def test_killed_writers_never_mix_a_set(tmp_path):
    """A short run of the program `tests.core.kills`, which kills two writers at once."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.core.kills", "--kills", "4", "--folder", str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 mixed" in done.stdout
