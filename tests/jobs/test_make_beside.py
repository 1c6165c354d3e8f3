"""`make` writes its frames in a process beside the one that draws: what becomes of its faults."""

import errno
import os
import signal

import pytest

from lumenmap.controller.files.frames import FrameWriter
from lumenmap.core import parallel
from lumenmap.core.errors import WriteError
from lumenmap.jobs.export import make
from lumenmap.jobs.project import load
from lumenmap.pictures.options import PreviewOptions
from lumenmap.starter.start import start

SHOW = """
show = { house = "house.toml", fps = 10, length = "4 s", seed = 3 }
[[cue]]
[[cue.layer]]
effect = "swell"
"""
FILES = ["account.txt", "frames.json", "frames.rgb", "preview.gif", "report.json"]


@pytest.fixture(scope="module")
def work(tmp_path_factory):
    folder = tmp_path_factory.mktemp("work")
    start(folder)
    (folder / "show.toml").write_text(SHOW)
    return load(folder / "show.toml")


def files(folder):
    return {name: (folder / name).read_bytes() for name in FILES}


@pytest.fixture(scope="module")
def alone(work, tmp_path_factory):
    """What is written on one processor."""
    folder = tmp_path_factory.mktemp("alone")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(parallel, "processors", lambda: 1)
        report = make(work, folder, PreviewOptions(width=64))
    return report, files(folder)


@pytest.fixture(autouse=True)
def two(monkeypatch):
    monkeypatch.setattr(parallel, "processors", lambda: 2)


def test_files_and_report_are_those_of_one_processor(work, alone, tmp_path):
    assert (make(work, tmp_path, PreviewOptions(width=64)), files(tmp_path)) == alone


def test_if_that_process_is_ended_the_frames_are_written_here(work, alone, tmp_path, monkeypatch):
    parent, write, done = os.getpid(), FrameWriter.write, []

    def killed(self, codes):
        if os.getpid() != parent:
            os.kill(os.getpid(), signal.SIGKILL)
        done.append(len(codes))
        write(self, codes)

    monkeypatch.setattr(FrameWriter, "write", killed)
    assert (make(work, tmp_path, PreviewOptions(width=64)), files(tmp_path)) == alone
    assert sum(done) == work.show.frames


def test_a_full_disk_is_told_as_ever(work, tmp_path, monkeypatch, capfd):
    def full(self, codes):
        raise OSError(errno.ENOSPC, "No space left on device")

    make(work, tmp_path, PreviewOptions(width=64))
    before = files(tmp_path)
    monkeypatch.setattr(FrameWriter, "write", full)
    with pytest.raises(WriteError, match="can't be written: the disk is full"):
        make(work, tmp_path, PreviewOptions(width=64))
    assert files(tmp_path) == before and capfd.readouterr() == ("", "")
