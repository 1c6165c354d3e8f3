"""Pieces of work on several processors: order, faults, children that die."""

import multiprocessing
import os
import signal
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


def test_two_functions_have_processes_of_their_own_if_this_one_has_a_single_thread(processors):
    parent = os.getpid()
    alone = threading.active_count() == 1
    name, ran_in = module.both(lambda: "a", os.getpid)
    assert name == "a"
    assert (ran_in != parent) == (alone and processors > 1)
    waiting = threading.Event()
    thread = threading.Thread(target=waiting.wait)
    thread.start()
    try:
        assert module.both(os.getpid, os.getpid) == (parent, parent)
    finally:
        waiting.set()
        thread.join()


def test_an_error_of_either_of_two_functions_is_raised():
    for works in ((lambda: 1 / 0, int), (int, lambda: 1 / 0)):
        with pytest.raises(ZeroDivisionError):
            module.both(*works)
