"""A file is whole or absent; a set of files is all new or all old, whenever the power goes."""

import os
import signal
import subprocess
import sys

import pytest

from lumenmap.core.errors import InputError
from lumenmap.core.files import whole_file, write_whole
from lumenmap.core.folders.output_set import OutputSet, finish_interrupted


def seen(folder):
    """The files of a folder but the record of which are ours; a stage or lock that is left shows."""
    return sorted(name for name in os.listdir(folder) if name != ".lumenmap-files.json")


def test_a_failed_write_leaves_the_old_file_and_nothing_beside_it(tmp_path):
    target = tmp_path / "a.txt"
    write_whole(target, "old")
    with pytest.raises(RuntimeError), whole_file(target) as beside:
        beside.write_text("half")
        raise RuntimeError
    assert target.read_text() == "old"
    assert os.listdir(tmp_path) == ["a.txt"]


def test_missing_folder_is_said(tmp_path):
    with pytest.raises(InputError, match=r"a\.gif: can't be written: No such file"):
        write_whole(tmp_path / "no" / "a.gif", b"")


def test_a_folder_in_the_way_is_said(tmp_path):
    (tmp_path / "a").mkdir()
    with pytest.raises(InputError, match="is a folder"):
        write_whole(tmp_path / "a", b"")


def test_a_set_replaces_its_files_and_leaves_others_alone(tmp_path):
    (tmp_path / "mine.txt").write_text("mine")
    for text in ("one", "two"):
        with OutputSet(tmp_path) as files:
            files.path("a").write_text(text)
            files.path("b").write_text(text)
    assert seen(tmp_path) == ["a", "b", "mine.txt"]
    assert (tmp_path / "a").read_text() == (tmp_path / "b").read_text() == "two"


def test_an_error_inside_a_set_changes_nothing(tmp_path):
    with OutputSet(tmp_path) as files:
        files.path("a").write_text("old")
    with pytest.raises(RuntimeError), OutputSet(tmp_path) as files:
        files.path("a").write_text("new")
        raise RuntimeError
    assert seen(tmp_path) == ["a"]
    assert (tmp_path / "a").read_text() == "old"


def test_a_file_where_the_folder_should_be_is_said(tmp_path):
    (tmp_path / "f").write_text("")
    with pytest.raises(InputError, match="can't be written"), OutputSet(tmp_path / "f"):
        pass


KILLED = """
import os, shutil, signal, sys
from pathlib import Path
from lumenmap.core.folders import output_set as files
from lumenmap.core.folders import stages
folder, at = Path(sys.argv[1]), int(sys.argv[2])
calls = 0
def dying(function):
    def call(*args, **kw):
        global calls
        calls += 1
        if calls == at:
            os.kill(os.getpid(), signal.SIGKILL)
        return function(*args, **kw)
    return call
Path.replace = dying(Path.replace)
Path.write_text = dying(Path.write_text)
Path.touch = dying(Path.touch)
os.fsync = dying(os.fsync)
os.mkdir = dying(os.mkdir)
os.unlink = dying(os.unlink)
Path.unlink = dying(Path.unlink)
Path.write_bytes = dying(Path.write_bytes)
shutil.rmtree = dying(shutil.rmtree)
with files.OutputSet(folder) as out:
    for name in "abc":
        out.path(name).write_text("new")
"""


@pytest.mark.parametrize("at", range(1, 32))
def test_killed_at_any_step_the_set_is_all_old_or_all_new(tmp_path, at):
    """SIGKILL at each write, flush and rename in turn; the next reader sees one whole set."""
    with OutputSet(tmp_path) as files:
        for name in "abc":
            files.path(name).write_text("old")
    done = subprocess.run([sys.executable, "-c", KILLED, str(tmp_path), str(at)], check=False)
    assert done.returncode in (0, -signal.SIGKILL)
    finish_interrupted(tmp_path)
    assert seen(tmp_path) == ["a", "b", "c"]
    assert len({(tmp_path / name).read_text() for name in "abc"}) == 1


def test_an_error_about_the_hidden_file_names_the_real_one(tmp_path):
    with (
        pytest.raises(InputError, match=r"^a\.mp4: wants more$"),
        whole_file(tmp_path / "a.mp4") as beside,
    ):
        raise InputError("wants more", file=beside)
    assert list(tmp_path.iterdir()) == []


def test_the_umask_is_left_alone(tmp_path, monkeypatch):
    """Setting it, if only for a moment, would give other threads' files the wrong permissions."""
    monkeypatch.setattr(os, "umask", lambda mask: pytest.fail("the umask was set"))
    write_whole(tmp_path / "a.txt", "x")
    assert (tmp_path / "a.txt").read_text() == "x"


def test_a_new_file_has_the_permissions_that_the_umask_leaves(tmp_path):
    before = os.umask(0o027)
    try:
        write_whole(tmp_path / "a.txt", "x")
    finally:
        os.umask(before)
    assert (tmp_path / "a.txt").stat().st_mode & 0o777 == 0o640
