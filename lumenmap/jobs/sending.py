"""Frames for the wire, made and checked: from a show, from exported frames, from a pattern.

Nothing is handed on whose bytes were not counted against the house's budgets first.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from lumenmap.codes.order import to_wire
from lumenmap.controller.files.frameset import FrameLine, FrameSet, open_frames
from lumenmap.controller.locate import FPS, Question, locate
from lumenmap.core.errors import CheckError, InputError
from lumenmap.jobs.export import export
from lumenmap.jobs.project import Progress, load
from lumenmap.power.account.recheck import recheck
from lumenmap.power.limits.limit import limit
from lumenmap.site import Site


def show_frames(
    show: Path,
    folder: Path,
    *,
    house: Path | None = None,
    effect_folders: Iterable[Path] = (),
    values: Mapping[str, float] | None = None,
    progress: Progress | None = None,
    brightness: float = 1.0,
) -> FrameSet:
    """Return a show's frames, ready to send.

    Parameters
    ----------
    show
        A show file, or the folder or ``frames.json`` of an export.
    folder
        Where a show file is rendered to.
    values
        Numbers by name, in place of those in the show's [values].
    brightness
        0..1: what the light of a show file is multiplied by. Exported frames are as they are: see
        `FrameSet.brightness`.

    Raises
    ------
    CheckError
        The frames would break a budget, or are not those that were written.
    """
    if show.is_dir() or show.suffix == ".json":
        if values:
            raise InputError(f"{show} was exported with its values; they can't be set any more")
        made = show if show.is_dir() else show.parent
    else:
        made = folder
        project = load(show, house=house, effect_folders=effect_folders, values=values)
        export(project, made, progress=progress, brightness=brightness)
    frames = open_frames(made)
    if problems := budget_problems(made / "frames.json", house):
        raise CheckError(f"{show.name}: not played: {problems[0]}")
    return frames


def budget_problems(sidecar: Path, house: Path | None = None) -> list[str]:
    """Count exported bytes against the house's budgets; return what is wrong, in sentences."""
    return list(recheck(sidecar, house=house, flashes=False).problems)


def pattern_frames(house: Path, question: Question, **options: Any) -> tuple[FrameSet, list[str]]:
    """Return the frames of a locating pattern inside the house's budgets, and what to look for."""
    site = Site.read(house)
    pattern = locate(site.pixels, question, unit=site.house.unit, **options)
    codes = limit(pattern.light, site.budgets).codes
    spans = site.pixels.lines
    wired = to_wire(codes, [(s.slice, s.order) for s in spans])
    lines = tuple(FrameLine(s.name, s.first, s.count, s.universe, s.order) for s in spans)
    return FrameSet(wired, FPS, lines, house=site.house.file), pattern.words
