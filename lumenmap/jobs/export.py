"""Whole jobs on a project: check it, export its frames, make everything.

`project` reads and streams a show, `preview` makes pictures of its codes.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.stepping import StepCounter
from lumenmap.controller.files.frames import FrameWriter, sidecar
from lumenmap.core.folders.output_set import OutputSet
from lumenmap.frames.idle import idle
from lumenmap.frames.purity import impure
from lumenmap.frames.seam import SeamCounter
from lumenmap.jobs.project import Progress, Project, ask, limited
from lumenmap.jobs.reports import CheckReport, ExportReport, MakeReport
from lumenmap.jobs.sampled import PREVIEW_SECONDS, Sampler, clip, light_of, made_ready, seen
from lumenmap.jobs.steps import picture_steps
from lumenmap.jobs.workers import Workers
from lumenmap.power.account.account import account
from lumenmap.power.limits.caps import caps
from lumenmap.power.limits.limit import Limited
from lumenmap.power.limits.refresh import refresh_problems
from lumenmap.power.limits.torn import packets_of
from lumenmap.power.report.tally import Tally

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
    watch = _Watch(project)
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
        return _export(project, files, blocks, brightness)


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
    blocks = sampler.passing(limited(project, progress=steps.next(), workers=workers))
    with OutputSet(folder) as files, made_ready(project, options) as stage:
        for name in MAKE_FILES:
            files.path(name)  # one that isn't ours is told before the work, not after it
        exported = _export(project, files, blocks)
        seconds = min(project.show.seconds, PREVIEW_SECONDS)
        report: MakeReport = {**exported, "preview_seconds": seconds}
        # The set of files flushes all of them.
        gif = files.path("preview.gif")
        drawn = replace(clip(project, sampler), stage=stage)
        write_clip(gif, drawn, options, steps.next(), flush=False)
        files.path("report.json").write_bytes(f"{json.dumps(report, indent=2)}\n".encode())
    return report


def _export(
    project: Project, files: OutputSet, blocks: Iterable[Limited], brightness: float = 1.0
) -> ExportReport:
    watch = _Watch(project)
    writer = FrameWriter(files.path("frames.rgb"), project.site.pixels)
    try:
        for got in blocks:
            watch.add(got)
            writer.write(got.codes)
    finally:
        writer.close()
    proof = account(
        project.site,
        frames=watch.tally.frames,
        fps=project.show.fps,
        sha256=writer.sha256,
        rows=watch.tally.figures(),
    )
    report: ExportReport = {
        **watch.report(),
        "sha256": writer.sha256,
        "energy": proof.report()["energy"],
    }
    extra = {
        "budget_amps": report["budget_amps"],
        "peak_amps": report["peak_amps"],
        "budgets": report["budgets"],
        "house": project.site.house.name,
        "house_sha256": project.site.house.sha256,
        "show": project.show.name,
        "flashing": [f["message"] for f in report["flashing"]],
        "flashing_because": project.show.flashing,
        "pixel_kind": project.site.pixels.kind.name,
        "caps": caps(project.site.budgets, project.site.pixels),
    }
    if brightness != 1:
        extra["brightness"] = brightness
    side = sidecar(writer, project.site.pixels, project.show.fps, extra)
    files.path("frames.json").write_bytes(side.encode())
    files.path("account.txt").write_bytes(proof.text().encode())
    return report


class _Watch:
    """Looks at a project's frames as they stream by, for the report."""

    def __init__(self, project: Project) -> None:
        self._project = project
        self.tally = Tally(project.site.budgets, project.show.fps, packets_of(project.site.pixels))
        self._flashes = FlashCounter(project.show.fps, project.site.flash_regions)
        self._seam = SeamCounter(project.show.frames)
        self._steps = StepCounter(project.show.fps)

    def add(self, got: Limited) -> None:
        """Take in the next block."""
        self.tally.add(got)
        self._seam.add(got.codes)
        self._steps.add(got.codes)
        self._flashes.add(seen(self._project, light_of(got.codes)))

    def report(self) -> CheckReport:
        """Return what the show is and what it drew; units as in `Tally.report`."""
        show, site = self._project.show, self._project.site
        own = [note for note in (*self._project.plan.notes, self._steps.note()) if note]
        return {
            "show": show.name,
            "house": site.house.name,
            "frames": self.tally.frames,
            "fps": show.fps,
            "seconds": show.seconds,
            "pixels": len(site.pixels),
            "pixel_kind": site.house.kind.name,
            "notes": [*show.notes, *own, *ask(self._project, idle), *site.pixels.notes],
            "accepted": [str(a) for a in site.verdict.accepted],
            "unused": [str(f) for f in site.verdict.unused],
            **self.tally.report(),
            "seam": self._seam.seam().report(),
            "problems": ask(self._project, impure),
            "flashing": [f.report() for f in self._flashes.findings()],
            "refresh": [p.report() for p in refresh_problems(site.pixels, show.fps)],
        }
