"""lumenmap export: the frame files alone."""

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


def export(
    show: Show,
    out: Annotated[Path, typer.Option("--out", "-o", metavar="DIR", help="Where to write.")],
    as_format: Annotated[
        list[str] | None,
        typer.Option(
            "--format",
            "-f",
            metavar="NAME",
            help="Also write frames.* in this format: npy, csv, pcap (E1.31 packets), flash (for a "
            "microcontroller), c_array, or an installed one. May be given more than once.",
        ),
    ] = None,
    option: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME=VALUE", help="An option of the format, such as loss=2 for flash."
        ),
    ] = None,
    house: House = None,
    effects: Effects = None,
    workers: Workers = 1,
    cluster: Cluster = "",
    as_json: Json = False,
) -> None:
    """Write the frame files for the controller: frames.rgb and frames.json.

    Example: lumenmap export my-house/show.toml -o out

    Example: lumenmap export my-house/show.toml -o out --format flash --option loss=2
    """
    from lumenmap.controller.files.registry import read_options, write_formats
    from lumenmap.jobs.export import export as export_project
    from lumenmap.jobs.workers import workers as given

    wanted = read_options(as_format or [], option or [])
    project = open_show(show, house, effects)
    with given(workers, cluster) as pool, progress("rendering") as told:
        report = export_project(project, out, progress=told, workers=pool)
    files = write_formats(out, wanted)
    named = dict.fromkeys(["frames.rgb", "frames.json", *(f["file"] for f in files)])
    lines = [*summary(report), f"wrote {out}/: {', '.join(named)}"]
    lines += [f"  {f['file']}: {f['bytes']:,} bytes{f['note']}" for f in files]
    say({**report, "formats": files}, lines, as_json)
    finish(report)
