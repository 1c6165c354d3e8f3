"""`beside`: work on a stream of pieces in a process of its own, while they pass by here.

Strategy: the process is forked where that is safe, so it shares what there is without a copy;
pieces go to it and the result comes back through a pipe. A process that fails or is ended costs
time and nothing else: there is no result then, and who asked does the work again, here, where what
is wrong is told as usual.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import warnings
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from typing import Protocol, TypeVar

from lumenmap.core import parallel

T = TypeVar("T", contravariant=True)
R = TypeVar("R", covariant=True)


class Taker(Protocol[T, R]):
    """What takes pieces in turn, and then has a result."""

    def add(self, piece: T, /) -> None:
        """Take in the next piece."""

    def result(self) -> R:
        """Return the result; called once, after the last piece."""

    def close(self) -> None:
        """Free what it uses, in any case."""


@contextlib.contextmanager
def beside(begin: Callable[[], Taker[T, R]]) -> Iterator[Taker[T, R | None]]:
    """Give what hands its pieces to ``begin()`` in another process; no result if that fails.

    On one processor, and where forking isn't safe, it is ``begin()`` itself.
    """
    if parallel.processors() < 2:
        with contextlib.closing(begin()) as here:
            yield here
        return
    fork = multiprocessing.get_context("fork")
    ours, theirs = fork.Pipe()
    child = fork.Process(target=_child, args=(begin, ours, theirs), daemon=True)
    with warnings.catch_warnings():
        # Python warns about locks that other threads may hold; the child uses none.
        warnings.simplefilter("ignore", DeprecationWarning)
        child.start()
    theirs.close()
    try:
        yield _Sender(ours)
    finally:
        ours.close()
        child.kill()  # it has sent its result, or nobody waits for it
        child.join()


class _Sender(Taker[T, R | None]):
    """Sends pieces to a process, and waits for its result."""

    def __init__(self, pipe: Connection) -> None:
        self._pipe = pipe

    def add(self, piece: T, /) -> None:
        with contextlib.suppress(OSError):  # it is gone, and `result` says so
            self._pipe.send((piece,))

    def result(self) -> R | None:
        try:
            self._pipe.send(())
            got: R = self._pipe.recv()
        except (EOFError, OSError):
            return None
        return got

    def close(self) -> None:
        self._pipe.close()


def _child(begin: Callable[[], Taker[T, R]], ours: Connection, theirs: Connection) -> None:
    """Take in what comes, send the result, and exit without Python's clean-up."""
    try:
        ours.close()  # else this would wait for itself, once the parent is gone
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent gets it too, and ends this
        with contextlib.closing(begin()) as taker:
            while piece := theirs.recv():
                taker.add(*piece)
            result = taker.result()
        theirs.send(result)
    finally:
        os._exit(0)
