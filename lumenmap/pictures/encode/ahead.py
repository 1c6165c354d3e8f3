"""`ahead`: work on the next block while the last one is being written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")


def ahead(items: Iterable[T]) -> Iterator[T]:
    """Yield ``items``, one of them always being made in a thread; errors come out in order.

    Pictures and their compression both leave Python's lock for most of the time, so the two
    overlap on two cores.
    """
    source = iter(items)
    end = object()

    def following() -> object:
        return next(source, end)

    with ThreadPoolExecutor(1, thread_name_prefix="pictures") as pool:
        coming: Future[object] = pool.submit(following)
        while (item := coming.result()) is not end:
            coming = pool.submit(following)
            yield item  # type: ignore[misc]
