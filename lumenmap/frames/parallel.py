"""Rendering on any `concurrent.futures.Executor`: threads, processes, or a cluster's.

The plan is sent as bytes, which each worker unpacks once. A task is a run of blocks; its result is
what ``then`` makes of each block, so that light, which is large, needn't be sent. Any block has the
same bytes wherever it is rendered, so the result doesn't depend on the workers.
"""

from __future__ import annotations

import pickle
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future
from functools import lru_cache
from typing import Any, TypeVar

from lumenmap.frames.evaluate import EffectError, Light
from lumenmap.frames.planned import Plan
from lumenmap.frames.render import default_block, render_block

R = TypeVar("R")

#: Blocks per task: enough to outweigh the cost of sending it.
_RUN = 16


def render_on(
    executor: Executor,
    plan: Plan,
    then: Callable[[Light, int], R],
    *,
    workers: int = 2,
    block: int | None = None,
) -> Iterator[R]:
    """Render a whole show on an executor.

    Parameters
    ----------
    then
        Called in the worker with each block (T, N, 3) and the number of its first frame; its
        result is sent back. It must be something that pickles: a function of a module, or a
        `functools.partial` of one.
    workers
        How many tasks the executor can run at once: twice as many are kept waiting, no more, so
        memory stays bounded however long the show is.
    block
        Frames in a block.

    Yields
    ------
    R
        What ``then`` made of each block, in the show's order.

    Raises
    ------
    EffectError
        An effect failed, or a worker process ended.
    """
    stop = plan.show.frames
    step = block or default_block(plan.pixels)
    work = pickle.dumps((plan, then), protocol=5)
    # Short shows are shared out evenly too.
    run = step * max(1, min(_RUN, -(-stop // (step * workers * 4))))
    waiting: deque[Future[list[Any]]] = deque()
    try:
        for first in range(0, stop, run):
            waiting.append(executor.submit(_run, work, first, min(first + run, stop), step))
            if len(waiting) >= 2 * workers:
                yield from waiting.popleft().result()
        while waiting:
            yield from waiting.popleft().result()
    except BrokenExecutor:
        raise EffectError(
            "a worker process ended by itself. If an effect of your own ended it, run the command "
            "without --workers, and it is named; if memory ran out, use fewer workers"
        ) from None
    finally:
        for future in waiting:
            future.cancel()


def _run(work: bytes, first: int, stop: int, step: int) -> list[Any]:
    plan, then = _unpacked(work)
    return [then(render_block(plan, i, min(i + step, stop)), i) for i in range(first, stop, step)]


@lru_cache(maxsize=2)
def _unpacked(work: bytes) -> tuple[Plan, Callable[[Light, int], Any]]:
    got: tuple[Plan, Callable[[Light, int], Any]] = pickle.loads(work)
    return got
