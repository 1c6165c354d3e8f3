"""Frames for the wire, made and checked: from a show, from exported frames, from a pattern.

Nothing is handed on whose bytes were not counted against the house's budgets first.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from lumenmap.codes.flashes import ADVICE
from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.order import to_wire
from lumenmap.controller.files.frameset import FrameLine, FrameSet, open_frames
from lumenmap.controller.locate import FPS, Question, locate
from lumenmap.core.errors import CheckError, InputError
from lumenmap.core.files import write_whole
from lumenmap.core.toml.reading import load_toml
from lumenmap.jobs.export import export
from lumenmap.jobs.project import Progress, Project, load
from lumenmap.parts.light import as_seen
from lumenmap.power.account.origin import house_of
from lumenmap.power.account.recheck import recheck
from lumenmap.power.limits.limit import limit
from lumenmap.site import Site
from lumenmap.sound.piece import sound_of

#: In the folder of kept frames: the path of their house file, and of their sound if they have one.
KEPT_HOUSE, KEPT_SOUND = "house.path", "sound.path"


def is_exported(show: Path) -> bool:
    """Return whether a path is that of exported frames: their folder, or its ``frames.json``."""
    return show.is_dir() or show.suffix == ".json"


def exported_frames(
    show: Path, house: Path | None = None, values: Mapping[str, float] | None = None
) -> FrameSet:
    """Return exported frames, ready to send.

    Parameters
    ----------
    show
        The folder or ``frames.json`` of an export.
    house
        The house file, if it isn't the one that the export names.
    values
        Refused: the frames were made with theirs.

    Raises
    ------
    InputError
        Values are given, or the house's file isn't found.
    CheckError
        The frames would break a budget, or are not those that were written.
    """
    if values:
        raise InputError(f"{show} was exported with its values; they can't be set any more")
    made = show if show.is_dir() else show.parent
    frames = open_frames(made)
    home = house or house_of(
        made / "frames.json", str(frames.meta.get("house")), frames.meta.get("house_sha256", "")
    )
    return _playable(frames, show.name, made, home)


def rendered_frames(
    project: Project, folder: Path, progress: Progress | None = None, brightness: float = 1.0
) -> FrameSet:
    """Render a show into a folder and return its frames, ready to send.

    Parameters
    ----------
    brightness
        0..1: what the show's light is multiplied by.

    Raises
    ------
    CheckError
        The frames would break a budget.
    """
    export(project, folder, progress=progress, brightness=brightness)
    name = project.show.file.name if project.show.file else project.show.name
    frames = replace(open_frames(folder), sound=project.show.sound)
    return _playable(frames, name, folder, project.site.house.file)


def _playable(frames: FrameSet, name: str, made: Path, house: Path | None) -> FrameSet:
    if problems := playing_problems(made / "frames.json", house):
        raise CheckError(f"{name}: not played: {problems[0]}")
    return replace(frames, house=house)


def named_sound(show: Path) -> Path:
    """Return the sound file that a show file names.

    Raises
    ------
    InputError
        It names none, or one that isn't next to it; or these are exported frames.
    """
    if is_exported(show):
        raise InputError("exported frames have no sound; give the show file to play it", file=show)
    found = sound_of(load_toml(show), show)
    if found is None:
        raise InputError('names no sound; write sound = "FILE" in its [show]', file=show)
    return found


def keep_frames(
    project: Project, folder: Path, progress: Progress | None = None, brightness: float = 1.0
) -> None:
    """Export a show into a folder of our own, and note there its house file and its sound."""
    export(project, folder, progress=progress, brightness=brightness)
    write_whole(folder / KEPT_HOUSE, str(project.site.house.file.resolve()))
    if project.show.sound is not None:
        write_whole(folder / KEPT_SOUND, str(project.show.sound.resolve()))


def kept_frames(folder: Path) -> FrameSet:
    """Open frames that `keep_frames` wrote.

    Raises
    ------
    InputError, CheckError
        As `open_frames`.
    """
    sound = None
    with contextlib.suppress(OSError, ValueError):
        sound = Path((folder / KEPT_SOUND).read_text("utf-8"))
    return replace(open_frames(folder), sound=sound)


def kept_problems(sidecar: Path) -> list[str]:
    """Return what keeps frames that `keep_frames` wrote from being played, in sentences."""
    try:
        house = Path(sidecar.with_name(KEPT_HOUSE).read_text("utf-8"))
    except (OSError, ValueError):
        house = None
    return playing_problems(sidecar, house)


def playing_problems(sidecar: Path, house: Path | None = None) -> list[str]:
    """Count exported bytes against the house's budgets, and their flashes.

    Returns
    -------
    What keeps them from being played, in sentences.

    Raises
    ------
    DangerError
        The house's wiring is dangerous.
    """
    result = recheck(sidecar, house=house)
    found = list(result.problems)
    if result.flashing and not result.flashing_because:
        found.append(
            f"{result.flashing[0]}. {ADVICE} If it is to be played all the same, write "
            'flashing = "why it may" in its [show]'
        )
    return found


def require_safe_houses(shows: Iterable[Path], effect_folders: Iterable[Path] = ()) -> None:
    """Refuse shows whose house's wiring is dangerous; other mistakes are told when they play.

    Raises
    ------
    DangerError
        The first such house.
    """
    for show in shows:
        try:
            verdict = load(show, effect_folders=effect_folders).site.verdict
        except Exception:  # effects are anybody's code; it is told when the show is due
            continue
        verdict.require_safe()


def pattern_frames(house: Path, question: Question, **options: Any) -> tuple[FrameSet, list[str]]:
    """Return the frames of a locating pattern inside the house's budgets, and what to look for."""
    site = Site.read(house)
    if not site.house.supplies:  # nothing else is asked: a pattern may be what finds the mistake
        site.verdict.require_safe()
    pattern = locate(site.pixels, question, unit=site.house.unit, **options)
    codes = limit(pattern.light, site.budgets).codes
    spans = site.pixels.lines
    wired = to_wire(codes, [(s.slice, s.order) for s in spans])
    lines = tuple(FrameLine(s.name, s.first, s.count, s.universe, s.order) for s in spans)
    watch = FlashCounter(FPS, site.flash_regions)
    watch.add(as_seen(codes.astype(np.float32) / np.float32(255), site.house.kind))
    if found := watch.findings():
        raise CheckError(f"the pattern isn't sent: {found[0]}. {ADVICE}")
    return FrameSet(wired, FPS, lines, house=site.house.file), pattern.words
