"""`ahead`: the next work is done in threads while what the last one gave is used."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from lumenmap.core import parallel

T = TypeVar("T")

#: Threads that draw, at most: mapping to a palette, in one thread, is then what takes longest.
_MOST = 3


def drawing_threads() -> int:
    """Return how many threads may draw, beside one that uses what they draw."""
    return max(1, min(_MOST, parallel.processors() - 1))


def ahead(works: Iterable[Callable[[], T]], threads: int = 1) -> Iterator[T]:
    """Yield what ``works`` return, in order; as many as there are ``threads`` are done ahead.

    What works raise is raised in its turn. Drawing and compression release Python's lock for most
    of the time, so they overlap on several processors.
    """
    with ThreadPoolExecutor(threads, thread_name_prefix="pictures") as pool:
        waiting: deque[Future[T]] = deque()
        try:
            for work in works:
                waiting.append(pool.submit(work))
                if len(waiting) > threads:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for late in waiting:
                late.cancel()
