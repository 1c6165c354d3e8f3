"""lumenmap export: frame files for the controller."""

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
from lumenmap.core.wording import some


def export(
    show: Show,
    out: Annotated[Path, typer.Option("--out", "-o", metavar="DIR", help="Folder to write to.")],
    as_format: Annotated[
        list[str] | None,
        typer.Option(
            "--format",
            "-f",
            metavar="NAME",
            help="Also write frames.* in this format: npy, csv, pcap (E1.31 packets), flash (for a "
            "microcontroller), board (flash and a player for it in C), c_array, or an installed "
            "one. May be repeated.",
        ),
    ] = None,
    option: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME=VALUE", help="An option of the format, such as loss=2 for flash."
        ),
    ] = None,
    house: House = None,
    effect_folders: Effects = None,
    values: Values = None,
    workers: Workers = 1,
    cluster: Cluster = "",
    as_json: Json = False,
) -> None:
    """Write the frame files for the controller: frames.rgb and frames.json.

    Example: lumenmap export my-house/show.toml -o out

    Example: lumenmap export my-house/show.toml -o out --format flash --option loss=2
    """
    from lumenmap.controller.files.registry import read_options, write_formats

    formats = read_options(as_format or [], option or [])
    with progress("rendering") as update:
        from lumenmap.jobs.export import export as export_project
        from lumenmap.jobs.workers import workers as rendering_workers

        project = open_show(show, house, effect_folders, values)
        with rendering_workers(workers, cluster) as pool:
            report = export_project(project, out, progress=update, workers=pool)
    files = write_formats(out, formats)
    own = [f for f in files if f["file"].startswith("frames.")]
    names = dict.fromkeys(["frames.rgb", "frames.json", *(f["file"] for f in own)])
    lines = [*summary(report), f"wrote {out}/: {', '.join(names)}"]
    lines += [f"  {f['file']}: {f['bytes']:,} bytes{f['note']}" for f in own]
    sources = {f["file"] for f in files} - names.keys()
    first = next((name for name in ("BOARD.md", "FORMAT.md") if name in sources), "")
    if first:
        lines.append(f"  {some(len(sources), 'file')} to play it with; read {first} first")
    print_report({**report, "formats": files}, lines, as_json)
    exit_if_failed(report)
