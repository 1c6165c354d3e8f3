"""lumenmap make: picture, frame files and report."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import (
    Cluster,
    Effects,
    House,
    Json,
    Show,
    Values,
    Workers,
    exit_if_failed,
    open_show,
    print_report,
    progress,
)
from lumenmap.cli.shared.wording import summary


def make(
    show: Show,
    out: Annotated[Path, typer.Option("--out", "-o", metavar="DIR", help="Folder to write to.")],
    house: House = None,
    effect_folders: Effects = None,
    values: Values = None,
    width: Annotated[
        int, typer.Option(help="Width of the preview in pixels.", min=64, max=3840)
    ] = 640,
    workers: Workers = 1,
    cluster: Cluster = "",
    as_json: Json = False,
) -> None:
    """Do the whole job: write a picture, the frame files and a report to one folder.

    Writes preview.gif (the show on your house), frames.rgb and frames.json (for the controller),
    account.txt and report.json (its currents). If anything fails, the old files stay.

    Example: lumenmap make my-house/show.toml -o out
    """
    with progress("making") as update:
        from lumenmap.jobs.export import make as make_all
        from lumenmap.jobs.workers import workers as rendering_workers
        from lumenmap.pictures.options import PreviewOptions

        project = open_show(show, house, effect_folders, values)
        with rendering_workers(workers, cluster) as pool:
            options = PreviewOptions(width=width)
            report = make_all(project, out, options, progress=update, workers=pool)
    lines = [
        *summary(report),
        f"wrote {out}/: preview.gif, frames.rgb, frames.json, account.txt, report.json",
    ]
    if report["preview_seconds"] < report["seconds"]:
        lines.append(f"  preview.gif shows the first {report['preview_seconds']:g} s")
    print_report(report, lines, as_json)
    exit_if_failed(report)
