"""What the shows next to a house draw on it: the figures of each, for the power report."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import LumenmapError
from lumenmap.core.toml.reading import load_toml
from lumenmap.jobs.limited import limited
from lumenmap.jobs.project import Progress, Project, load, render
from lumenmap.power.feeding.judge import ShowCodes
from lumenmap.power.limits.budgets import unlimited
from lumenmap.power.limits.limit import in_channels
from lumenmap.power.report.brief import ShowDraw
from lumenmap.power.report.report import ShowTrace, trace
from lumenmap.site import Site

#: Shows that are measured; going through more takes long.
MOST_SHOWS = 8
#: Codes of one show that are kept to compare plans: bounds the memory.
MOST_CODES = 400_000_000


def shows_beside(house: Path) -> list[Path]:
    """Return the show files in the folder of a house file."""
    found = []
    for file in sorted(house.resolve().parent.glob("*.toml")):
        try:
            if "show" in load_toml(file):
                found.append(file)
        except LumenmapError:
            continue
    return found


def measure(project: Project, progress: Progress | None = None) -> tuple[ShowTrace, ShowDraw]:
    """Go through a show; return its currents over time, and what matters of them."""
    site, least = project.site, 1.0
    dimmed, demand = 0, np.zeros(len(site.budgets))

    def codes() -> Iterator[NDArray[np.uint8]]:
        nonlocal least, dimmed
        for got in limited(project, progress=progress):
            gain = got.gain if got.gain.ndim == 1 else got.gain.min(axis=1)
            least, dimmed = min(least, float(gain.min())), dimmed + int((gain < 1).sum())
            np.maximum(demand, got.demand.max(axis=0), out=demand)
            yield got.codes

    traced = trace(codes(), site, project.show.name, project.show.fps)
    return traced, ShowDraw.of(site, traced, project.show.file.name, (dimmed, least), demand)


def measured(
    show: Path, site: Site, effect_folders: Iterable[Path] = (), *, progress: Progress | None = None
) -> tuple[ShowTrace, ShowDraw]:
    """Measure a show file on a site; as `measure`."""
    project = load(show, house=site.house.file, effect_folders=effect_folders)
    return measure(Project.of(project.show, site), progress)


def measure_all(
    site: Site, effect_folders: Iterable[Path] = ()
) -> tuple[list[ShowDraw], list[str]]:
    """Measure the shows next to a house; return their figures, and what couldn't be measured."""
    found, left = [], []
    shows = shows_beside(site.house.file)
    for file in shows[:MOST_SHOWS]:
        try:
            found.append(measured(file, site, effect_folders)[1])
        except LumenmapError as error:
            left.append(f"{file.name} isn't measured: {error}")
    if len(shows) > MOST_SHOWS:
        more = len(shows) - MOST_SHOWS
        said = "show isn't" if more == 1 else "shows aren't"
        left.append(f"{more} more {said} measured; name one with --show")
    return found, left


def show_codes(
    site: Site, effect_folders: Iterable[Path] = ()
) -> tuple[list[ShowCodes], list[str]]:
    """Render the shows next to a house before any limit; return them, and what couldn't be."""
    found, left = [], []
    free = unlimited(site.pixels)
    for file in shows_beside(site.house.file)[:MOST_SHOWS]:
        try:
            project = load(file, house=site.house.file, effect_folders=effect_folders)
            project = Project.of(project.show, site)
            values = project.show.frames * len(site.pixels) * site.house.kind.channels
            if values > MOST_CODES:
                left.append(f"{file.name} is too long to compare plans with")
                continue
            blocks = [
                np.rint(in_channels(light, free) * 255).astype(np.uint8)
                for light in render(project)
            ]
            found.append(ShowCodes(file.name, np.concatenate(blocks)))
        except LumenmapError as error:
            left.append(f"{file.name} isn't included: {error}")
    return found, left
