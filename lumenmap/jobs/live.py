"""Frames for the wire, made and checked: from a show, from exported frames, from a pattern.

Nothing is handed on whose bytes were not counted against the house's budgets first.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from lumenmap.codes.quantise import to_wire
from lumenmap.controller.files.frameset import FrameLine, FrameSet, open_frames
from lumenmap.controller.locate import FPS, locate
from lumenmap.core.errors import CheckError
from lumenmap.house.load import load_house
from lumenmap.jobs import pipeline
from lumenmap.jobs.pipeline import Progress
from lumenmap.pixels.build import map_pixels
from lumenmap.power.account.recheck import recheck
from lumenmap.power.limits.budgets import budgets
from lumenmap.power.limits.limit import limit


def show_frames(
    show: Path,
    folder: Path,
    *,
    house: Path | None = None,
    effect_folders: Iterable[Path] = (),
    progress: Progress | None = None,
) -> FrameSet:
    """Return a show's frames, ready to send.

    Parameters
    ----------
    show
        A show file, or the folder or ``frames.json`` of an export.
    folder
        Where a show file is rendered to.

    Raises
    ------
    CheckError
        The frames would break a budget, or are not those that were written.
    """
    if show.is_dir() or show.suffix == ".json":
        made = show if show.is_dir() else show.parent
    else:
        made = folder
        work = pipeline.load(show, house=house, effect_folders=effect_folders)
        pipeline.export(work, made, progress=progress)
    frames = open_frames(made)
    if problems := budget_problems(made / "frames.json", house):
        raise CheckError(f"{show.name}: not played: {problems[0]}")
    return frames


def budget_problems(sidecar: Path, house: Path | None = None) -> list[str]:
    """Count exported bytes against the house's budgets; return what is wrong, in sentences."""
    return list(recheck(sidecar, house=house, flashes=False).problems)


def pattern_frames(house: Path, question: str, **options: Any) -> tuple[FrameSet, list[str]]:
    """Return the frames of a locating pattern inside the house's budgets, and what to look for."""
    home = load_house(house)
    pixelmap = map_pixels(home)
    pattern = locate(pixelmap, question, unit=home.unit, **options)
    limits = budgets(home, pixelmap)
    light = pattern.light
    codes = limit(light, limits).codes
    spans = pixelmap.lines
    wired = to_wire(codes, [(s.slice, s.order) for s in spans])
    lines = tuple(FrameLine(s.name, s.first, s.count, s.universe, s.order) for s in spans)
    return FrameSet(wired, FPS, lines, house=home.file), pattern.words
