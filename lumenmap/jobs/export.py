"""Whole jobs on a project: check it, export its frames, make everything.

`project` reads and streams a show, `preview` makes pictures of its codes.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from lumenmap.codes.white import join_white
from lumenmap.controller.files.frames import FrameWriter, sidecar
from lumenmap.core.files import OutputSet
from lumenmap.frames.purity import impure
from lumenmap.frames.seam import seam
from lumenmap.jobs.preview import (
    PREVIEW_SECONDS,
    Sampler,
    clip,
    light_of,
    watch_flashes,
)
from lumenmap.jobs.project import Progress, Project, ask, limited
from lumenmap.jobs.reports import CheckReport, ExportReport, MakeReport
from lumenmap.jobs.workers import Workers
from lumenmap.power.account.certificate import certificate
from lumenmap.power.limits.limit import Limited
from lumenmap.power.limits.refresh import refresh_problems
from lumenmap.power.report.tally import Tally

if TYPE_CHECKING:
    from lumenmap.codes.flashing import FlashCounter
    from lumenmap.pictures.options import PreviewOptions


def check(
    project: Project, *, progress: Progress | None = None, workers: Workers | None = None
) -> CheckReport:
    """Run the whole show and write nothing; return the report."""
    tally, watch = Tally(project.site.budgets, project.show.fps), watch_flashes(project)
    for got in limited(project, progress=progress, workers=workers):
        tally.add(got)
        watch.add(join_white(light_of(got.codes)))
    return _report(project, tally, watch)


def export(
    project: Project,
    folder: Path | str,
    *,
    progress: Progress | None = None,
    workers: Workers | None = None,
) -> ExportReport:
    """Write ``frames.rgb``, ``frames.json`` and ``certificate.txt``; return the report.

    Raises
    ------
    InputError
        A folder that can't be written.
    """
    with OutputSet(folder) as files:
        blocks = limited(project, progress=progress, workers=workers)
        return _export(project, files, Path(folder), blocks)


def make(
    project: Project,
    folder: Path | str,
    options: PreviewOptions | None = None,
    *,
    progress: Progress | None = None,
    workers: Workers | None = None,
) -> MakeReport:
    """Do the whole job into ``folder``; return the report that ``report.json`` holds.

    Writes ``preview.gif``, ``frames.rgb``, ``frames.json``, ``certificate.txt`` and
    ``report.json``: all or none.
    """
    from lumenmap.pictures.clip import write_clip
    from lumenmap.pictures.memory import require_room
    from lumenmap.pictures.options import PreviewOptions

    options = options or PreviewOptions()
    sampler = Sampler(project, options.fps)
    require_room(Path("preview.gif"), options, len(project.site.pixels), sampler.bytes)
    blocks = sampler.passing(limited(project, progress=progress, workers=workers))
    with OutputSet(folder) as files:
        exported = _export(project, files, Path(folder), blocks)
        seconds = min(project.show.seconds, PREVIEW_SECONDS)
        report: MakeReport = {**exported, "preview_seconds": seconds}
        write_clip(files.path("preview.gif"), clip(project, sampler), options)
        files.path("report.json").write_text(json.dumps(report, indent=2) + "\n")
    return report


def _export(
    project: Project, files: OutputSet, folder: Path, blocks: Iterable[Limited]
) -> ExportReport:
    tally, watch = Tally(project.site.budgets, project.show.fps), watch_flashes(project)
    writer = FrameWriter(files.path("frames.rgb"), project.site.pixels)
    try:
        for got in blocks:
            tally.add(got)
            watch.add(join_white(light_of(got.codes)))
            writer.write(got.codes)
    finally:
        writer.close()
    proof = certificate(
        project.site,
        frames=tally.frames,
        fps=project.show.fps,
        sha256=writer.sha256,
        rows=tally.figures(),
    )
    report: ExportReport = {
        **_report(project, tally, watch),
        "sha256": writer.sha256,
        "energy": proof.report()["energy"],
    }
    relative = os.path.relpath(project.site.house.file.resolve(), folder.resolve())
    extra = {
        "budget_amps": report["budget_amps"],
        "peak_amps": report["peak_amps"],
        "budgets": report["budgets"],
        "house": Path(relative).as_posix(),
    }
    side = sidecar(writer, project.site.pixels, project.show.fps, extra)
    files.path("frames.json").write_text(side)
    files.path("certificate.txt").write_text(proof.text())
    return report


def _report(project: Project, tally: Tally, watch: FlashCounter) -> CheckReport:
    """Say what a show is and what it drew; units as in `Tally.report`."""
    return {
        "show": project.show.name,
        "house": project.site.house.name,
        "frames": tally.frames,
        "fps": project.show.fps,
        "seconds": project.show.seconds,
        "pixels": len(project.site.pixels),
        "pixel_kind": project.site.pixels.kind.name,
        "notes": [*project.show.notes, *project.site.pixels.notes],
        **tally.report(),
        "seam": ask(project, seam).report(),
        "problems": ask(project, impure),
        "flashing": [f.report() for f in watch.findings()],
        "refresh": [p.report() for p in refresh_problems(project.site.pixels, project.show.fps)],
    }
