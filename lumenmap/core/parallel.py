"""Work in several threads or processes: how many, and what is done ahead of its use."""

from __future__ import annotations

import os
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")


def processors() -> int:
    """Return the number of processors to use; 1 where forking breaks system libraries."""
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else 1


def ahead(works: Iterable[Callable[[], T]], threads: int = 1, more: int = 0) -> Iterator[T]:
    """Yield what ``works`` return, in order; as many as there are ``threads`` are done ahead.

    With ``more`` so many others may be done before they are asked for: no thread waits then while
    one piece of work takes longer than its neighbours, but what they return must be kept.

    What works raise is raised in its turn. They overlap on several processors as far as they are
    loops that don't hold Python's lock, as those over large arrays are.
    """
    with ThreadPoolExecutor(threads, thread_name_prefix="ahead") as pool:
        waiting: deque[Future[T]] = deque()
        try:
            for work in works:
                waiting.append(pool.submit(work))
                if len(waiting) > threads + more:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for late in waiting:
                late.cancel()
