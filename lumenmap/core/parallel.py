"""`in_parallel`: pieces of work on several processors, with the same results as on one.

Strategy: numpy's indexing holds Python's lock, so threads hardly help. On Linux the process is
forked, which shares matrices and functions without copying them; each child takes every n-th piece
and sends its results back. If a child ends early, for any reason, the parent does its pieces.
Elsewhere forking breaks system libraries, so one process does all of them.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import warnings
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from typing import TypeVar

T = TypeVar("T")

#: Time between two looks at what the children do (s).
WAIT = 0.1


def processors() -> int:
    """Return the number of processors to use; 1 where forking isn't safe."""
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else 1


def in_parallel(
    work: Callable[[int], T], count: int, meanwhile: Callable[[], None] | None = None
) -> Iterator[T]:
    """Yield ``work(0)``, ``work(1)``… in order; ``work`` mustn't depend on earlier pieces.

    ``meanwhile`` is called now and then while the children work.
    """
    workers = min(count, processors())
    if workers < 2:
        yield from map(work, range(count))
        return
    fork = multiprocessing.get_context("fork")
    ends: list[Connection] = []
    children = []
    try:
        for first in range(workers):
            here, there = fork.Pipe(duplex=False)
            ends.append(here)
            mine = range(first, count, workers)
            child = fork.Process(target=_child, args=(work, mine, there, tuple(ends)), daemon=True)
            with warnings.catch_warnings():
                # Python warns about locks that other threads may hold; the children use none.
                warnings.simplefilter("ignore", DeprecationWarning)
                child.start()
            children.append(child)
            there.close()
        for piece in range(count):
            end = ends[piece % workers]
            while meanwhile is not None and not end.poll(WAIT):
                meanwhile()
            try:
                done: T = end.recv()
            except EOFError:
                done = work(piece)
            yield done
    finally:
        for child in children:
            # Not SIGTERM: a handler of the parent's own would be the child's too, and would only
            # take note of it.
            child.kill()
            child.join()
        for end in ends:
            end.close()


def _child(
    work: Callable[[int], T], pieces: range, there: Connection, ends: tuple[Connection, ...]
) -> None:
    """Send the results of some pieces, and exit without Python's clean-up."""
    try:
        for end in ends:
            end.close()  # else this would wait for itself to read, once the parent is gone
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent gets it too, and ends this
        for piece in pieces:
            there.send(work(piece))
    finally:
        os._exit(0)
