"""`side_by_side`: like pieces of work on several processors, the same results on one.

Strategy: numpy's indexing holds Python's lock, so threads hardly help. On Linux the process is
forked, which carries matrices and functions over without copying them; each child takes every
n-th piece and sends its results back. A child that ends early, whatever the reason, leaves its
pieces to the parent. Elsewhere forking breaks system libraries, and one process does it all.
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


def processors() -> int:
    """Return how many processors this process may use and fork on to."""
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else 1


def side_by_side(work: Callable[[int], T], count: int) -> Iterator[T]:
    """Yield ``work(0)``, ``work(1)``… in order; ``work`` must not depend on earlier pieces."""
    helpers = min(count, processors())
    if helpers < 2:
        yield from map(work, range(count))
        return
    fork = multiprocessing.get_context("fork")
    ends: list[Connection] = []
    children = []
    try:
        for first in range(helpers):
            here, there = fork.Pipe(duplex=False)
            child = fork.Process(
                target=_child, args=(work, range(first, count, helpers), there), daemon=True
            )
            ends.append(here)
            with warnings.catch_warnings():
                # Python warns of locks that other threads may hold; a child takes none of theirs.
                warnings.simplefilter("ignore", DeprecationWarning)
                child.start()
            children.append(child)
            there.close()
        for piece in range(count):
            try:
                done: T = ends[piece % helpers].recv()
            except EOFError:
                done = work(piece)
            yield done
    finally:
        for child in children:
            child.terminate()
            child.join()
        for end in ends:
            end.close()


def _child(work: Callable[[int], T], pieces: range, there: Connection) -> None:
    """Send the results of some pieces, and end without any of Python's tidying up."""
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent hears it too, and ends us
        for piece in pieces:
            there.send(work(piece))
    finally:
        os._exit(0)
