"""Work on pieces in a process beside this one: its result, its faults, and how it ends."""

import multiprocessing
import os
import signal
import subprocess
import sys
import time

import pytest

from lumenmap.core import parallel
from lumenmap.core.beside import beside


@pytest.fixture(params=[1, 2])
def processors(request, monkeypatch):
    monkeypatch.setattr(parallel, "processors", lambda: request.param)
    return request.param


class Joined:
    """Joins bytes; ``at`` some piece, or at the ``end``, it does what it is told to."""

    def __init__(self, closed=None, at=None, fault=None):
        self.closed, self.at, self.fault, self.pieces = closed, at, fault, []

    def add(self, piece):
        if len(self.pieces) == self.at:
            self.fault()
        self.pieces.append(piece)

    def result(self):
        if self.at == "end":
            self.fault()
        return b"".join(self.pieces), os.getpid()

    def close(self):
        if self.closed:
            self.closed.write_text("closed")


def killed():
    os.kill(os.getpid(), signal.SIGKILL)


def wrong():
    raise ValueError("no")


@pytest.mark.parametrize("size", [0, 1, 2_000_000])
def test_the_result_is_that_of_all_pieces_in_order(processors, size, tmp_path):
    pieces = [bytes([n]) * size for n in range(7)]
    with beside(lambda: Joined(tmp_path / "it")) as joined:
        for piece in pieces:
            joined.add(piece)
        got, where = joined.result()
    assert got == b"".join(pieces)
    assert (where == os.getpid()) == (processors == 1)
    assert (tmp_path / "it").read_text() == "closed"
    assert not multiprocessing.active_children()


@pytest.mark.parametrize("fault", [killed, wrong])
@pytest.mark.parametrize("at", [0, 2, "end"])
def test_of_a_process_that_fails_there_is_no_result(monkeypatch, fault, at, capfd):
    """Pieces are taken all the same; who asked does the work again, where faults are told."""
    monkeypatch.setattr(parallel, "processors", lambda: 2)
    with beside(lambda: Joined(at=at, fault=fault)) as joined:
        for _ in range(5):
            joined.add(bytes(500_000))
        assert joined.result() is None
    assert capfd.readouterr() == ("", "")


def test_what_cannot_begin_has_no_result(monkeypatch):
    monkeypatch.setattr(parallel, "processors", lambda: 2)
    with beside(wrong) as joined:
        joined.add(b"1")
        assert joined.result() is None


def test_on_one_processor_a_fault_is_raised_as_it_is(monkeypatch, tmp_path):
    monkeypatch.setattr(parallel, "processors", lambda: 1)
    with (
        pytest.raises(ValueError, match="no"),
        beside(lambda: Joined(tmp_path / "it", at=0, fault=wrong)) as joined,
    ):
        joined.add(b"1")
    assert (tmp_path / "it").read_text() == "closed"


def test_a_process_that_nobody_waits_for_is_ended(monkeypatch):
    monkeypatch.setattr(parallel, "processors", lambda: 2)
    begun = time.monotonic()
    with (
        pytest.raises(KeyError),
        beside(lambda: Joined(at=0, fault=lambda: time.sleep(60))) as joined,
    ):
        joined.add(b"1")
        raise KeyError
    assert not multiprocessing.active_children() and time.monotonic() - begun < 30


_KILLED = """
import os, signal
from lumenmap.core import parallel
from lumenmap.core.beside import beside
parallel.processors = lambda: 2
class Slow:
    def add(self, piece): print(os.getpid(), flush=True)
    def result(self): return b""
    def close(self): pass
with beside(Slow) as slow:
    slow.add(b"1")
    os.kill(os.getpid(), signal.SIGKILL)
"""


def test_it_ends_when_its_parent_is_killed():
    """It holds its parent's standard output, too: this would wait for it."""
    done = subprocess.run([sys.executable, "-c", _KILLED], capture_output=True, timeout=20)
    assert done.returncode == -signal.SIGKILL
