"""Pieces of work on several processors: order, faults, children that die."""

import multiprocessing
import os
import signal
import subprocess
import sys
import threading

import pytest

from lumenmap.core import parallel as module
from lumenmap.core.parallel import in_parallel


@pytest.fixture(autouse=True, params=[1, 3])
def processors(request, monkeypatch):
    monkeypatch.setattr(module, "processors", lambda: request.param)
    return request.param


def test_results_come_in_order():
    assert list(in_parallel(lambda n: bytes([n]) * 200_000, 8)) == [
        bytes([n]) * 200_000 for n in range(8)
    ]
    assert list(in_parallel(abs, 0)) == []


def test_an_error_is_raised_where_it_belongs():
    def work(n):
        return 12 // (3 - n)

    results = in_parallel(work, 6)
    assert [next(results) for _ in range(3)] == [4, 6, 12]
    with pytest.raises(ZeroDivisionError):
        next(results)


def test_a_child_that_is_killed_leaves_its_work_to_the_parent():
    parent = os.getpid()

    def work(n):
        if n == 1 and os.getpid() != parent:
            os.kill(os.getpid(), signal.SIGKILL)
        return n * n

    assert list(in_parallel(work, 7)) == [n * n for n in range(7)]


def test_no_child_outlives_its_reader():
    results = in_parallel(lambda n: bytes(1_000_000), 9)
    next(results)
    results.close()
    assert not multiprocessing.active_children()


def test_a_handler_of_the_parent_keeps_no_child_alive():
    """A program that catches SIGTERM, as `lumenmap run` does, and children that wait to send."""
    before = signal.signal(signal.SIGTERM, lambda *_: None)
    late = threading.Timer(20, lambda: [c.kill() for c in multiprocessing.active_children()])
    try:
        pieces = in_parallel(lambda n: bytes(10_000_000), 30)
        assert len(next(pieces)) == 10_000_000
        late.start()
        pieces.close()
        assert late.is_alive(), "they were waited for"
    finally:
        late.cancel()
        signal.signal(signal.SIGTERM, before)


_KILLED = """
import os, signal
from lumenmap.core import parallel
parallel.processors = lambda: 3
def work(n):
    os.write(1, b"%d " % os.getpid())  # at once: what is printed may come mixed with others'
    return bytes(1_000_000)  # more than a pipe holds: each waits for a reader
for _ in parallel.in_parallel(work, 6):
    os.kill(os.getpid(), signal.SIGKILL)
"""


def test_children_end_when_their_parent_is_killed():
    """They hold its standard output, too: this would wait for them."""
    done = subprocess.run([sys.executable, "-c", _KILLED], capture_output=True, timeout=20)
    assert done.returncode == -signal.SIGKILL and len(set(done.stdout.split())) == 3
