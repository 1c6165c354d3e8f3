"""Whole jobs on a project: check it, export its frames, make everything.

`project` reads and streams a show, `preview` makes pictures of its codes.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lumenmap.codes.white import join_white
from lumenmap.controller.files.frames import FrameWriter, sidecar
from lumenmap.core.files import OutputSet
from lumenmap.frames.seam import seam
from lumenmap.jobs.preview import (
    PREVIEW_FPS,
    PREVIEW_SECONDS,
    Sampler,
    clip,
    light_of,
    watch_flashes,
)
from lumenmap.jobs.project import Progress, Project, limited
from lumenmap.power.account.certificate import certificate
from lumenmap.power.limits.refresh import refresh_problems
from lumenmap.power.report.tally import Tally

if TYPE_CHECKING:
    from lumenmap.codes.flashing import FlashWatch


def check(project: Project, *, progress: Progress | None = None) -> dict[str, Any]:
    """Run the whole show and write nothing; return the report."""
    tally, watch = Tally(project.site.budgets, project.show.fps), watch_flashes(project)
    for got in limited(project, progress=progress):
        tally.add(got)
        watch.add(join_white(light_of(got.codes)))
    return _report(project, tally, watch)


def export(
    project: Project, folder: Path | str, *, progress: Progress | None = None
) -> dict[str, Any]:
    """Write ``frames.rgb``, ``frames.json`` and ``certificate.txt``; return the report."""
    with OutputSet(folder) as files:
        return _export(project, files, Path(folder), Sampler(project, 0), progress)


def make(
    project: Project,
    folder: Path | str,
    *,
    width: int = 640,
    fps: float = PREVIEW_FPS,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Do the whole job into ``folder``; return the report that ``report.json`` holds.

    Writes ``preview.gif``, ``frames.rgb``, ``frames.json``, ``certificate.txt`` and
    ``report.json``: all or none.
    """
    sampler = Sampler(project, fps)
    with OutputSet(folder) as files:
        report = _export(project, files, Path(folder), sampler, progress)
        report["preview_seconds"] = min(project.show.seconds, PREVIEW_SECONDS)
        from lumenmap.pictures.clip import write_clip
        from lumenmap.pictures.options import ClipOptions

        write_clip(files.path("preview.gif"), clip(project, sampler), ClipOptions(width=width))
        files.path("report.json").write_text(_json(report))
    return report


def _export(
    project: Project,
    files: OutputSet,
    folder: Path,
    sampler: Sampler,
    progress: Progress | None,
) -> dict[str, Any]:
    tally, watch = Tally(project.site.budgets, project.show.fps), watch_flashes(project)
    writer = FrameWriter(files.path("frames.rgb"), project.site.pixels)
    try:
        for got in limited(project, progress=progress):
            tally.add(got)
            watch.add(join_white(light_of(got.codes)))
            writer.write(got.codes)
            sampler.add(got.codes)
    finally:
        writer.close()
    proof = certificate(
        project.site,
        frames=tally.frames,
        fps=project.show.fps,
        sha256=writer.sha256,
        rows=tally.figures(),
    )
    report = {
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
    files.path("frames.json").write_text(
        sidecar(writer, project.site.pixels, project.show.fps, extra)
    )
    files.path("certificate.txt").write_text(proof.text())
    return report


def _report(project: Project, tally: Tally, watch: FlashWatch) -> dict[str, Any]:
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
        "seam": seam(project.plan).report(),
        "flashing": [f.report() for f in watch.findings()],
        "refresh": [p.report() for p in refresh_problems(project.site.pixels, project.show.fps)],
    }


def _json(content: dict[str, Any]) -> str:
    import json

    return json.dumps(content, indent=2) + "\n"
