"""`ahead`: make the next block while the last one is being written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")


def ahead(items: Iterable[T]) -> Iterator[T]:
    """Yield ``items``, the next one always being made in a thread; errors come in order.

    Drawing and compression both release Python's lock for most of the time, so they overlap on
    two cores.
    """
    source = iter(items)
    end = object()

    def following() -> object:
        return next(source, end)

    with ThreadPoolExecutor(1, thread_name_prefix="pictures") as pool:
        upcoming: Future[object] = pool.submit(following)
        while (item := upcoming.result()) is not end:
            upcoming = pool.submit(following)
            yield item  # type: ignore[misc]
