"""lumenmap make: the whole job."""

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
    Workers,
    finish,
    open_show,
    progress,
    say,
)
from lumenmap.cli.shared.wording import summary


def make(
    show: Show,
    out: Annotated[Path, typer.Option("--out", "-o", metavar="DIR", help="Where to write.")],
    house: House = None,
    effects: Effects = None,
    width: Annotated[
        int, typer.Option(help="Width of the preview, in pixels.", min=64, max=3840)
    ] = 640,
    workers: Workers = 1,
    cluster: Cluster = "",
    as_json: Json = False,
) -> None:
    """Do the whole job: picture, frame files and report in one folder.

    Writes preview.gif (the show on your house), frames.rgb and frames.json (for the controller),
    certificate.txt and report.json (what it draws). Files of an earlier run are replaced all at
    once.

    Example: lumenmap make my-house/show.toml -o out
    """
    from lumenmap.jobs.export import make as make_all
    from lumenmap.jobs.workers import workers as given
    from lumenmap.pictures.options import PreviewOptions

    project = open_show(show, house, effects)
    with given(workers, cluster) as pool, progress("rendering") as told:
        options = PreviewOptions(width=width)
        report = make_all(project, out, options, progress=told, workers=pool)
    lines = [
        *summary(report),
        f"wrote {out}/: preview.gif, frames.rgb, frames.json, certificate.txt, report.json",
    ]
    if report["preview_seconds"] < report["seconds"]:
        lines.append(f"  preview.gif shows the first {report['preview_seconds']:g} s")
    say(report, lines, as_json)
    finish(report)
