"""The whole way in one place: files in, light, codes inside the budgets, files out.

The command line and Python users call this; each stage can be called alone as well. `loaded` reads
and streams a show, `showing` makes light and clips of its codes; what is public there is public
here.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lumenmap.codes.white import join_white
from lumenmap.controller.files.frames import FrameWriter, sidecar
from lumenmap.core.errors import InputError
from lumenmap.core.files import OutputSet
from lumenmap.frames.seam import seam
from lumenmap.jobs.project import Loaded, Progress, limited, load, render
from lumenmap.jobs.showing import (
    PREVIEW_SECONDS,
    Sampler,
    clip,
    light_of,
    on_screen,
    page,
    watch_flashes,
)
from lumenmap.power.account.certificate import certificate
from lumenmap.power.limits.refresh import refresh_problems
from lumenmap.power.report.tally import Tally

if TYPE_CHECKING:
    from lumenmap.codes.flashing import FlashWatch
    from lumenmap.pictures.options import ClipOptions

__all__ = [
    "Loaded",
    "Progress",
    "check",
    "export",
    "limited",
    "load",
    "make",
    "on_screen",
    "preview",
    "render",
]

PREVIEW_FPS = 15.0


def check(work: Loaded, *, progress: Progress | None = None) -> dict[str, Any]:
    """Run the whole show and write nothing; return the report."""
    tally, watch = Tally(work.budgets, work.show.fps), watch_flashes(work)
    for got in limited(work, progress=progress):
        tally.add(got)
        watch.add(join_white(light_of(got.codes)))
    return _report(work, tally, watch)


def export(work: Loaded, folder: Path | str, *, progress: Progress | None = None) -> dict[str, Any]:
    """Write ``frames.rgb``, ``frames.json`` and ``certificate.txt``; return the report."""
    with OutputSet(folder) as files:
        return _export(work, files, Path(folder), Sampler(work, 0), progress)


def preview(
    work: Loaded,
    path: Path | str,
    *,
    width: int = 640,
    fps: float = PREVIEW_FPS,
    seconds: float | None = None,
    as_powered: bool = False,
    options: ClipOptions | None = None,
    progress: Progress | None = None,
) -> ClipOptions:
    """Write the show on a picture of its house, made from the codes it exports.

    What is written goes by the path's ending: GIF, WebP, APNG, MP4, WebM, a PNG still or sheet, or
    an HTML page that plays it. Return the options it was written with.

    Parameters
    ----------
    seconds
        Stop after these; by default `PREVIEW_SECONDS` for what loops, the whole show for the rest.
    as_powered
        As the wiring lights it, with pixels that are short of volts warm and dim.
    options
        How it looks; ``width`` is then theirs.

    Raises
    ------
    InputError
        An unknown ending, options that can't be met, a path that can't be written.
    """
    from lumenmap.pictures.clip import LOOPING, ending_of, write_clip
    from lumenmap.pictures.options import ClipOptions

    path, options = Path(path), options or ClipOptions(width=width)
    if path.suffix.lower() == ".html":
        if as_powered:
            raise InputError("is not for a page, which plays the codes", key="--as-powered")
        return page(work, path, options, progress)
    short = ending_of(path) in LOOPING
    sampler = Sampler(work, fps, seconds or (PREVIEW_SECONDS if short else work.show.seconds))
    for got in limited(work, progress=progress):
        sampler.add(got.codes)
        if sampler.full:
            break
    return write_clip(path, clip(work, sampler, as_powered), options)


def make(
    work: Loaded,
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
    sampler = Sampler(work, fps)
    with OutputSet(folder) as files:
        report = _export(work, files, Path(folder), sampler, progress)
        report["preview_seconds"] = min(work.show.seconds, PREVIEW_SECONDS)
        from lumenmap.pictures.clip import write_clip
        from lumenmap.pictures.options import ClipOptions

        write_clip(files.path("preview.gif"), clip(work, sampler), ClipOptions(width=width))
        files.path("report.json").write_text(_json(report))
    return report


def _export(
    work: Loaded,
    files: OutputSet,
    folder: Path,
    sampler: Sampler,
    progress: Progress | None,
) -> dict[str, Any]:
    tally, watch = Tally(work.budgets, work.show.fps), watch_flashes(work)
    writer = FrameWriter(files.path("frames.rgb"), work.pixels)
    try:
        for got in limited(work, progress=progress):
            tally.add(got)
            watch.add(join_white(light_of(got.codes)))
            writer.write(got.codes)
            sampler.add(got.codes)
    finally:
        writer.close()
    proof = certificate(
        work.house,
        work.pixels,
        frames=tally.frames,
        fps=work.show.fps,
        sha256=writer.sha256,
        rows=tally.figures(),
    )
    report = {
        **_report(work, tally, watch),
        "sha256": writer.sha256,
        "energy": proof.report()["energy"],
    }
    relative = os.path.relpath(work.house.file.resolve(), folder.resolve())
    extra = {
        "budget_amps": report["budget_amps"],
        "peak_amps": report["peak_amps"],
        "budgets": report["budgets"],
        "house": Path(relative).as_posix(),
    }
    files.path("frames.json").write_text(sidecar(writer, work.pixels, work.show.fps, extra))
    files.path("certificate.txt").write_text(proof.text())
    return report


def _report(work: Loaded, tally: Tally, watch: FlashWatch) -> dict[str, Any]:
    """Say what a show is and what it drew; units as in `Tally.report`."""
    return {
        "show": work.show.name,
        "house": work.house.name,
        "frames": tally.frames,
        "fps": work.show.fps,
        "seconds": work.show.seconds,
        "pixels": len(work.pixels),
        "pixel_kind": work.pixels.kind.name,
        "notes": [*work.show.notes, *work.pixels.notes],
        **tally.report(),
        "seam": seam(work.plan).report(),
        "flashing": [f.report() for f in watch.findings()],
        "refresh": [p.report() for p in refresh_problems(work.pixels, work.show.fps)],
    }


def _json(content: dict[str, Any]) -> str:
    import json

    return json.dumps(content, indent=2) + "\n"
