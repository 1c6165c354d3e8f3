"""lumenmap try: an effect or a palette on your house, without a show file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Effects, progress
from lumenmap.cli.shared.watching import Watch, watch_saves


def try_(
    effect: Annotated[str, typer.Argument(help="The effect: see lumenmap effects.")] = "gradient",
    options: Annotated[
        list[str] | None, typer.Argument(metavar="NAME=VALUE…", help="Options of the effect.")
    ] = None,
    palette: Annotated[
        str, typer.Option("--palette", "-p", help="The palette: see lumenmap palette list.")
    ] = "",
    out: Annotated[
        Path, typer.Option("--out", "-o", metavar="FILE", help="The GIF file to write.")
    ] = Path("try.gif"),
    house: Annotated[
        Path | None,
        typer.Option("--house", metavar="FILE", help="Your house file; house.toml by default."),
    ] = None,
    effect_folders: Effects = None,
    seconds: Annotated[float, typer.Option(help="Length in seconds.", min=0.2, max=120)] = 8,
    width: Annotated[int, typer.Option(help="Width in pixels.", min=64, max=3840)] = 640,
    watch: Watch = False,
) -> None:
    """Draw one effect or palette on your whole house, without writing a show file.

    Example: lumenmap try brightwake speed="20 ft/s" way=round -p row-of-lamps -o try.gif

    Example: lumenmap try mine --effects my-effects --watch
    """
    from functools import partial

    from lumenmap.jobs.preview import preview
    from lumenmap.jobs.trial import house_file, trial
    from lumenmap.pictures.options import PreviewOptions

    make = partial(
        trial,
        effect,
        palette,
        options or (),
        house=house,
        effect_folders=effect_folders or (),
        seconds=seconds,
    )
    project = make()
    if watch:
        watch_saves(house_file(house).parent, project.show.file.name, effect_folders or (), make)
        return
    with progress("rendering") as update:
        preview(project, out, PreviewOptions(width=width), progress=update)
    print(f"wrote {out}: {project.show.name} on {project.site.house.name}")
