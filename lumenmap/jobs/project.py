"""A project: a show on a site, read from files and streamed as light and as codes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from lumenmap.core.errors import InputError
from lumenmap.core.plain import plain
from lumenmap.core.toml.tables import located
from lumenmap.frames.evaluate import Light
from lumenmap.frames.plan import plan
from lumenmap.frames.planned import Plan
from lumenmap.frames.render import render as render_plan
from lumenmap.power.limits.limiter import Limiter
from lumenmap.power.limits.options import LimitOptions
from lumenmap.show.load import load_show
from lumenmap.show.model import Show
from lumenmap.show.values import read_set as read_set
from lumenmap.site import Site

R = TypeVar("R")

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
