"""`limited`: a project's codes, which keep inside every budget, a block at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import partial
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.estimate import require_memory
from lumenmap.frames.evaluate import Light
from lumenmap.jobs.project import Progress, Project, render
from lumenmap.jobs.workers import Workers
from lumenmap.power.limits.limit import Limited
from lumenmap.power.limits.limiter import Limiter
from lumenmap.power.limits.torn import HALF, TornCounter, packets_of, room_for, tightened

R = TypeVar("R")

#: Light that is kept between the limiter's two passes (bytes); a longer show is rendered twice.
KEEP = 128 << 20
#: A show is gone through so often to find how much room the moments between packets need.
_MOST_PASSES = 4


def limited(
    project: Project,
    *,
    progress: Progress | None = None,
    workers: Workers | None = None,
    seconds: float | None = None,
    brightness: float = 1.0,
) -> Iterator[Limited]:
    """Yield the show as blocks of codes that keep inside every budget.

    The codes don't depend on the workers. Without workers, a block may be given a time limit
    (s), after which an `EffectError` names the effect. The show's light is multiplied by
    ``brightness`` before it is rounded to codes.

    Raises
    ------
    ValueError
        A time limit with workers, which can't be told to stop.
    """
    if workers is not None and seconds is not None:
        raise ValueError("a block has no time limit on workers; leave out one of the two")
    limiter = replace(project.limiter, brightness=brightness)
    if limiter.options.between_packets:
        limiter = _with_room(project, limiter, workers, seconds)
    yield from _limited(project, limiter, progress, workers, seconds)


def _with_room(
    project: Project, limiter: Limiter, workers: Workers | None, seconds: float | None
) -> Limiter:
    """Return a limiter that leaves room for what is drawn between two packets.

    The whole show is gone through again until its own codes fit, or half the room is left.
    """
    held, room = limiter.budgets, np.ones(len(limiter.budgets))
    for _ in range(_MOST_PASSES):
        tight = replace(limiter, budgets=tightened(held, room))
        watch = TornCounter(held, packets_of(project.site.pixels))
        for got in _limited(project, tight, None, workers, seconds):
            watch.add(got.codes)
        better = room_for(held, room, watch.figures())
        if (better == room).all():
            return tight
        room = better
    return replace(limiter, budgets=tightened(held, np.where(room < 1, HALF, room)))


def _limited(
    project: Project,
    limiter: Limiter,
    progress: Progress | None,
    workers: Workers | None,
    seconds: float | None,
) -> Iterator[Limited]:
    kept = None
    if limiter.needs_plan:
        limiter, kept = _planned(project, limiter, workers, seconds)
    done = 0
    light = render(project, seconds=seconds) if kept is None else kept
    for got in _each(project, partial(_codes, limiter), workers, light):
        yield got
        done += len(got.codes)
        if progress:
            progress(done, project.show.frames)


def _planned(
    project: Project, limiter: Limiter, workers: Workers | None, seconds: float | None
) -> tuple[Limiter, list[Light] | None]:
    """Go through the show once for the limiter's plan; keep its light if it is not too much."""
    show = project.show
    require_memory(
        limiter.plan_bytes(show.frames),
        'make the show shorter, or write mode = "frame" in [limit]',
        file=show.file,
    )
    few = project.show.frames * len(project.site.pixels) * 16 <= KEEP and workers is None
    kept = list(render(project, seconds=seconds)) if few else None
    light = render(project, seconds=seconds) if kept is None else kept
    demand = list(_each(project, partial(_demand, limiter), workers, light))
    return limiter.plan(np.concatenate(demand)), kept


def _each(
    project: Project,
    then: Callable[[Light, int], R],
    workers: Workers | None,
    blocks: Iterable[Light],
) -> Iterator[R]:
    """Yield what ``then`` makes of each block of the show and its first frame, in order."""
    if workers is not None:
        from lumenmap.frames.parallel import render_on

        yield from render_on(workers.executor, project.plan, then, workers=workers.count)
        return
    first = 0
    for light in blocks:
        yield then(light, first)
        first += len(light)


def _demand(limiter: Limiter, light: Light, first: int) -> NDArray[np.float64]:
    del first  # what light wants does not depend on when
    return limiter.demand(light)


def _codes(limiter: Limiter, light: Light, first: int) -> Limited:
    return limiter.limit(light, first)
