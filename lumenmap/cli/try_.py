"""lumenmap try: an effect or a palette on your house, without a show file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from lumenmap.cli.shared.options import Effects, On, TimeOfDay, ViewNamed, house_named, progress
from lumenmap.cli.shared.watching import Watch, watch_saves

if TYPE_CHECKING:
    from lumenmap.jobs.project import Project
    from lumenmap.pictures.scene.look import Time
    from lumenmap.pictures.scene.view import ViewName


def try_(
    effect: Annotated[str, typer.Argument(help="The effect: see lumenmap effects.")] = "gradient",
    options: Annotated[
        list[str] | None, typer.Argument(metavar="NAME=VALUE…", help="Options of the effect.")
    ] = None,
    palette: Annotated[
        str, typer.Option("--palette", "-p", help="The palette: see lumenmap palette list.")
    ] = "",
    out: Annotated[
        Path,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE",
            help="The file to write: .gif .webp .apng .mp4 .webm .png .jpg .html",
        ),
    ] = Path("try.gif"),
    house: Annotated[
        Path | None,
        typer.Option(
            "--house",
            metavar="FILE",
            help="Your house file; house.toml by default.",
            callback=house_named,
        ),
    ] = None,
    effect_folders: Effects = None,
    seconds: Annotated[float, typer.Option(help="Length in seconds.", min=0.2, max=120)] = 8,
    width: Annotated[int | None, typer.Option(help="Width in pixels.", min=64, max=3840)] = None,
    time: TimeOfDay = "dusk",
    view: ViewNamed = "street",
    at: Annotated[
        str | None,
        typer.Option(
            "--at", help="Still: the moment, as 0:05 or in seconds; by default the brightest."
        ),
    ] = None,
    on: On = None,
    watch: Watch = False,
) -> None:
    """Draw one effect or palette on your whole house, without writing a show file.

    Example: lumenmap try brightwake speed="20 ft/s" way=round -p row-of-lamps -o try.gif

    Example: lumenmap try flakefall --on eave --time night --at 0:03 -o snow.png

    Example: lumenmap try mine --effects my-effects --watch
    """
    from lumenmap.jobs.preview import preview
    from lumenmap.jobs.trial import house_file, only, trial
    from lumenmap.pictures.moments import read_moment
    from lumenmap.pictures.options import PreviewOptions
    from lumenmap.pictures.scene.look import Look

    drawn_as = PreviewOptions(
        width=width,
        view=cast("ViewName", view),
        look=Look(cast("Time", time)),
        at=None if at is None else read_moment(at),
    )

    def make() -> Project:
        made = trial(
            effect,
            palette,
            options or (),
            house=house,
            effect_folders=effect_folders or (),
            seconds=seconds,
        )
        return only(made, on or ())

    if watch:
        project = make()
        watch_saves(house_file(house).parent, project.show.file.name, effect_folders or (), make)
        return
    with progress("drawing") as update:
        project = make()
        preview(project, out, drawn_as, progress=update)
    print(f"wrote {out}: {project.show.name} on {project.site.house.name}")
