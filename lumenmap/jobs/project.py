"""A project: a show on a site, read from files and streamed as light and as codes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.estimate import require_memory
from lumenmap.core.plain import plain
from lumenmap.core.toml.tables import located
from lumenmap.frames.evaluate import Light
from lumenmap.frames.plan import plan
from lumenmap.frames.planned import Plan
from lumenmap.frames.render import render as render_plan
from lumenmap.jobs.workers import Workers
from lumenmap.power.limits.limit import Limited
from lumenmap.power.limits.limiter import Limiter
from lumenmap.power.limits.options import LimitOptions
from lumenmap.power.limits.torn import HALF, TornCounter, packets_of, room_for, tightened
from lumenmap.show.load import load_show
from lumenmap.show.model import Show
from lumenmap.show.values import read_set as read_set
from lumenmap.site import Site

R = TypeVar("R")

#: Light that is kept between the limiter's two passes (bytes); a longer show is rendered twice.
KEEP = 128 << 20

#: A show is gone through so often to find how much room the moments between packets need.
_MOST_PASSES = 4

#: Told of frames done and frames in all, now and then.
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, eq=False)
class Project:
    """A show on a site, ready to render: what `load` gives."""

    show: Show
    site: Site
    plan: Plan

    @classmethod
    def of(cls, show: Show, site: Site) -> Project:
        """Plan a show on a site.

        Raises
        ------
        InputError
            A layer lies on a place that the house doesn't have.
        """
        return cls(show, site, plan(show, site))

    @property
    def limiter(self) -> Limiter:
        """The limiter that the show asks for, before it has seen the show."""
        return Limiter(self.site.budgets, LimitOptions(**self.show.limit), self.show.fps)

    def __repr__(self) -> str:
        """Name show and house in one line."""
        return f"<Project {self.show.name!r} on {self.site.house.name!r}>"


def load(
    show: Path | str,
    *,
    house: Path | str | None = None,
    effect_folders: Iterable[Path] = (),
    values: Mapping[str, float] | None = None,
) -> Project:
    """Read a show and its house.

    Parameters
    ----------
    show
        The show file.
    house
        The house file, instead of the one that the show names.
    effect_folders
        Folders of effects of your own; their code is run.
    values
        Numbers by name, in place of those in the show's [values].

    Raises
    ------
    InputError
        Anything wrong in either file.
    """
    site = Site.read(house) if house is not None else None
    unit = site.house.unit if site else None
    piece = load_show(show, unit=unit, effect_folders=effect_folders, values=values)
    with located(piece.file):
        return Project.of(piece, site or _own_house(piece))


def _own_house(show: Show) -> Site:
    """Return the house that a show names."""
    said = 'names no house; write house = "house.toml" or give --house FILE'
    if show.house is not None:
        try:
            return Site.read(show.house)
        except InputError as error:
            # Of a wrong house the mistakes are told; of another file, that the show names it.
            if error.key or error.line or error.excerpt or error.file != show.house:
                raise
            said = f'names "{plain(show.house.name, 60)}": {error.message}'
    raise InputError(said, file=show.file, key="show.house")


def render(
    project: Project,
    *,
    stop: int | None = None,
    block: int | None = None,
    seconds: float | None = None,
) -> Iterator[Light]:
    """Yield the show, to frame ``stop``, as blocks of (T, N, 3) linear light, before any limit.

    Effects from folders are rendered in a process of their own, which they can't take us with;
    so are all effects if a block may take only so many ``seconds``.
    """
    if _foreign(project) or seconds is not None:
        from lumenmap.frames.apart import render_apart

        yield from render_apart(project.plan, stop=stop, block=block, seconds=seconds)
    else:
        yield from render_plan(project.plan, stop=stop, block=block)


def ask(project: Project, function: Callable[[Plan], R]) -> R:
    """Return ``function(plan)``; with effects from folders, from a process of their own."""
    if not _foreign(project):
        return function(project.plan)
    from lumenmap.frames.apart import Apart

    with Apart(project.plan) as process:
        return process.ask(function)


def _foreign(project: Project) -> bool:
    return any(layer.effect.from_folder for cue in project.show.cues for layer in cue.layers)


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
