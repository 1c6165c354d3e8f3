"""Whole jobs on a project: check it, export its frames, make everything.

`project` reads and streams a show, `preview` makes pictures of its codes.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from contextlib import closing
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from lumenmap.core.beside import beside
from lumenmap.core.folders.output_set import OutputSet
from lumenmap.jobs.exporting import Exporting, Watch
from lumenmap.jobs.limited import limited
from lumenmap.jobs.project import Progress, Project
from lumenmap.jobs.reports import CheckReport, ExportReport, MakeReport
from lumenmap.jobs.sampled import PREVIEW_SECONDS, Sampler, clip, made_ready
from lumenmap.jobs.steps import picture_steps
from lumenmap.jobs.workers import Workers
from lumenmap.power.limits.limit import Limited

if TYPE_CHECKING:
    from lumenmap.pictures.options import PreviewOptions


#: What `make` writes.
MAKE_FILES = ("preview.gif", "frames.rgb", "frames.json", "account.txt", "report.json")


def check(
    project: Project, *, progress: Progress | None = None, workers: Workers | None = None
) -> CheckReport:
    """Run the whole show and write nothing; return the report.

    Raises
    ------
    DangerError
        The house's wiring is dangerous.
    """
    project.site.verdict.require_safe()
    watch = Watch(project)
    for got in limited(project, progress=progress, workers=workers):
        watch.add(got)
    return watch.report()


def export(
    project: Project,
    folder: Path | str,
    *,
    progress: Progress | None = None,
    workers: Workers | None = None,
    brightness: float = 1.0,
) -> ExportReport:
    """Write ``frames.rgb``, ``frames.json`` and ``account.txt``; return the report.

    Parameters
    ----------
    brightness
        0..1: what the show's light is multiplied by.

    Raises
    ------
    DangerError
        The house's wiring is dangerous.
    InputError
        A folder that can't be written.
    """
    project.site.verdict.require_safe()
    with OutputSet(folder) as files:
        blocks = limited(project, progress=progress, workers=workers, brightness=brightness)
        return _exported(Exporting(project, files, brightness), blocks)


def make(
    project: Project,
    folder: Path | str,
    options: PreviewOptions | None = None,
    *,
    progress: Progress | None = None,
    workers: Workers | None = None,
) -> MakeReport:
    """Do the whole job into ``folder``; return the report that ``report.json`` holds.

    Writes ``preview.gif``, ``frames.rgb``, ``frames.json``, ``account.txt`` and
    ``report.json``: all or none.

    Raises
    ------
    DangerError
        The house's wiring is dangerous.
    """
    from lumenmap.pictures.clip import write_clip
    from lumenmap.pictures.memory import require_room
    from lumenmap.pictures.options import PreviewOptions

    project.site.verdict.require_safe()
    options = options or PreviewOptions()
    sampler = Sampler(project, options.fps)
    require_room(Path("preview.gif"), options, len(project.site.pixels), sampler.bytes)
    rendered = project.show.frames * len(project.site.pixels)
    steps = picture_steps(progress, rendered, sampler.count, options.size)
    with (
        OutputSet(folder) as files,
        beside(partial(Exporting, project, files)) as exporting,
        made_ready(project, options) as stage,
    ):
        for name in MAKE_FILES:
            files.path(name)  # one that isn't ours is told before the work, not after it
        for got in sampler.passing(limited(project, progress=steps.next(), workers=workers)):
            exporting.add(got)
        # The set of files flushes all of them.
        gif = files.path("preview.gif")
        drawn = replace(clip(project, sampler), stage=stage)
        write_clip(gif, drawn, options, steps.next(), flush=False)
        exported = exporting.result()
        if exported is None:
            exported = _exported(Exporting(project, files), limited(project, workers=workers))
        seconds = min(project.show.seconds, PREVIEW_SECONDS)
        report: MakeReport = {**exported, "preview_seconds": seconds}
        files.path("report.json").write_bytes(f"{json.dumps(report, indent=2)}\n".encode())
    return report


def _exported(exporting: Exporting, blocks: Iterable[Limited]) -> ExportReport:
    with closing(exporting):
        for got in blocks:
            exporting.add(got)
        return exporting.result()
