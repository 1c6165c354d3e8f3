"""What comes out of a show's blocks as they stream by: a report, and the files of an export."""

from __future__ import annotations

from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.stepping import StepCounter
from lumenmap.controller.files.frames import FrameWriter, sidecar
from lumenmap.core.folders.output_set import OutputSet
from lumenmap.frames.idle import idle
from lumenmap.frames.purity import impure
from lumenmap.frames.seam import SeamCounter
from lumenmap.jobs.project import Project, ask
from lumenmap.jobs.reports import CheckReport, ExportReport
from lumenmap.jobs.sampled import light_of, seen
from lumenmap.power.account.account import account
from lumenmap.power.limits.caps import caps
from lumenmap.power.limits.limit import Limited
from lumenmap.power.limits.refresh import refresh_problems
from lumenmap.power.limits.torn import packets_of
from lumenmap.power.report.tally import Tally


class Watch:
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


class Exporting:
    """Writes ``frames.rgb``, ``frames.json`` and ``account.txt`` of a show.

    Parameters
    ----------
    files
        The set that they are part of.
    brightness
        0..1: what the show's light was multiplied by.
    """

    def __init__(self, project: Project, files: OutputSet, brightness: float = 1.0) -> None:
        self._project, self._files, self._brightness = project, files, brightness
        self._watch = Watch(project)
        self._writer = FrameWriter(files.path("frames.rgb"), project.site.pixels)

    def add(self, got: Limited) -> None:
        """Take in the next block."""
        self._watch.add(got)
        self._writer.write(got.codes)

    def close(self) -> None:
        """Close the file of frames; after that nothing can be added."""
        self._writer.close()

    def result(self) -> ExportReport:
        """Write the other files and return the report; call once, after the last block."""
        project, files, writer = self._project, self._files, self._writer
        proof = account(
            project.site,
            frames=self._watch.tally.frames,
            fps=project.show.fps,
            sha256=writer.sha256,
            rows=self._watch.tally.figures(),
        )
        report: ExportReport = {
            **self._watch.report(),
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
        if self._brightness != 1:
            extra["brightness"] = self._brightness
        side = sidecar(writer, project.site.pixels, project.show.fps, extra)
        files.path("frames.json").write_bytes(side.encode())
        files.path("account.txt").write_bytes(proof.text().encode())
        return report
