"""One house, one voice: who holds the wire, who borrows it, and what happens to the dead."""

import os
import subprocess
import sys
import threading
import time

import pytest

from lumenmap.core.errors import InputError
from lumenmap.jobs.wire import Wire, holder


def test_a_free_wire_is_taken_and_given_back(tmp_path):
    folder = tmp_path / ".lumenmap"
    assert holder(folder) is None
    with Wire(folder, "stream") as wire:
        assert wire.held and not wire.borrowed
        found = holder(folder)
        assert (found.who, found.process) == ("stream", os.getpid())
        assert str(found).startswith(f"lumenmap stream (process {os.getpid()}, since ")
    assert holder(folder) is None


def test_one_who_does_not_lend_is_named(tmp_path):
    with Wire(tmp_path, "stream"):
        with (
            pytest.raises(InputError, match=r"lumenmap stream \(process .* is sending to this"),
            Wire(tmp_path, "locate", wait=0.2),
        ):
            raise AssertionError
        assert holder(tmp_path, "wire-wanted") is None, "nobody asks any more"


def lend(wire, log, stop):
    """A lender as the evening is one."""
    while not stop.is_set():
        if wire.held and (by := wire.wanted()):
            log.append(f"lent to {by.who}")
            wire.release()
        elif not wire.held and wire.take():
            log.append("sending")
        time.sleep(0.02)
    wire.release()


def test_an_evening_lends_it_and_takes_it_back(tmp_path):
    log, stop = [], threading.Event()
    thread = threading.Thread(target=lend, args=(Wire(tmp_path, "run"), log, stop))
    thread.start()
    try:
        while not log:
            time.sleep(0.01)
        for who in ("locate", "desk"):
            with Wire(tmp_path, who) as wire:
                assert wire.borrowed and holder(tmp_path).who == who
                time.sleep(0.1)
                assert log[-1] == f"lent to {who}", "it isn't taken back meanwhile"
                with (
                    pytest.raises(InputError, match=f"lumenmap {who} .* is sending"),
                    Wire(tmp_path, "third", wait=0.2),
                ):
                    raise AssertionError
            end = time.monotonic() + 5
            while log[-1] != "sending" and time.monotonic() < end:
                time.sleep(0.01)
            assert holder(tmp_path).who == "run"
    finally:
        stop.set()
        thread.join()
    assert log == ["sending", "lent to locate", "sending", "lent to desk", "sending"]


def test_the_wire_of_one_who_was_killed_is_free(tmp_path):
    program = (
        "import sys, time; from pathlib import Path; from lumenmap.jobs.wire import Wire\n"
        "Wire(Path(sys.argv[1]), 'stream').take(); print('taken', flush=True); time.sleep(60)"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", program, str(tmp_path)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout.readline() == "taken\n"
    assert holder(tmp_path).process == process.pid
    process.kill()
    process.communicate()
    assert holder(tmp_path) is None
    with Wire(tmp_path, "locate") as wire:
        assert wire.held and not wire.borrowed


def test_without_a_folder_the_work_goes_on(tmp_path, caplog):
    (tmp_path / "file").write_text("")
    with Wire(tmp_path / "file" / "x", "stream") as wire:
        assert wire.held and not wire.borrowed
    assert "can't be locked" in caplog.text and "no two commands send" in caplog.text


def test_a_damaged_note_of_who_it_is_hides_nothing(tmp_path):
    with Wire(tmp_path, "stream"):
        (tmp_path / "wire").write_text("\0{")
        assert holder(tmp_path).who == "command"
        (tmp_path / "wire").write_text('{"who": "x\\u001b[31m", "process": 1, "since": "?"}')
        assert "\x1b" not in str(holder(tmp_path))
