"""lumenmap preview: the show on a picture of your house."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from lumenmap.cli.shared.options import (
    Cluster,
    Effects,
    House,
    Show,
    TimeOfDay,
    Values,
    ViewNamed,
    Workers,
    open_show,
    progress,
)
from lumenmap.cli.shared.terminal import say
from lumenmap.cli.shared.watching import Watch, watch_saves
from lumenmap.cli.shared.wording import flashing

if TYPE_CHECKING:
    from lumenmap.pictures.scene.look import Time
    from lumenmap.pictures.scene.view import View, ViewName


def preview(
    show: Show,
    out: Annotated[
        Path,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE",
            help="The file to write: .gif .webp .apng .mp4 .webm .png .jpg .html",
        ),
    ] = Path("preview.gif"),
    house: House = None,
    effect_folders: Effects = None,
    values: Values = None,
    width: Annotated[int | None, typer.Option(help="Width in pixels, 64 to 3840.")] = None,
    height: Annotated[int, typer.Option(help="Height in pixels; 0 for 9/16 of the width.")] = 0,
    fps: Annotated[float, typer.Option(help="Frames per second.", min=0.1, max=60)] = 15,
    seconds: Annotated[
        float | None, typer.Option(help="Stop after this many seconds.", min=0.01)
    ] = None,
    view: ViewNamed = "street",
    stand: Annotated[
        str | None,
        typer.Option(
            "--stand", metavar="X,Y,Z", help="A viewpoint of your own, in the house's unit."
        ),
    ] = None,
    look_at: Annotated[
        str | None,
        typer.Option(
            "--look-at", metavar="X,Y,Z", help="The point it looks at, in the house's unit."
        ),
    ] = None,
    lens: Annotated[
        float, typer.Option(help="Its focal length, in mm on full frame (36 mm).")
    ] = 35,
    time: TimeOfDay = "dusk",
    snow: Annotated[bool, typer.Option("--snow", help="Snow on the roof and the ground.")] = False,
    trees: Annotated[bool, typer.Option(help="Trees and shrubs around the house.")] = True,
    street_lamp: Annotated[
        bool, typer.Option("--street-lamp", help="A street lamp in the yard.")
    ] = False,
    max_mb: Annotated[
        float | None,
        typer.Option(
            "--max-mb", help="Largest file size; the picture is made smaller until it fits."
        ),
    ] = None,
    loop: Annotated[int, typer.Option(help="Times to play; 0 for endless.", min=0, max=65535)] = 0,
    dither: Annotated[
        bool, typer.Option("--dither", help="GIF: ordered dithering, also of what moves.")
    ] = False,
    at: Annotated[
        str | None,
        typer.Option(
            "--at", help="Still: the moment, as 2:05 or in seconds; by default the brightest."
        ),
    ] = None,
    sheet: Annotated[int, typer.Option(help="Still: a sheet of this many moments.")] = 0,
    as_powered: Annotated[
        bool,
        typer.Option("--as-powered", help="Show far pixels dim and warm where the voltage drops."),
    ] = False,
    exposure: Annotated[
        float,
        typer.Option(help="Added to the house's own exposure, in stops: 1 doubles the light."),
    ] = 0,
    brightness: Annotated[
        float, typer.Option(help="Dim the show as stream and almanacs do: 0 to 1.", min=0, max=1)
    ] = 1,
    photo: Annotated[
        Path | None,
        typer.Option(
            "--photo",
            metavar="FILE",
            help="Draw it on your own photograph: the file of its marks (see lumenmap marks), or "
            "what lumenmap survey kept of its film, with the light measured there.",
        ),
    ] = None,
    workers: Workers = 1,
    cluster: Cluster = "",
    watch: Watch = False,
) -> None:
    """Draw the show on your house at night: an animation, a film, a still or a page that plays.

    The picture is made from the codes that the controller gets, limits included. Its exposure is
    the same for all shows of a house at one time of day, so that dim light looks dim. The .html
    page is a single file that needs no network; it also shows the current of each supply.

    Example: lumenmap preview my-house/show.toml -o tonight.gif --max-mb 5

    Example: lumenmap preview my-house/show.toml --watch
    """
    from lumenmap.core.errors import InputError
    from lumenmap.pictures.moments import read_moment

    if watch and photo is not None:
        raise InputError("doesn't apply to the page that watches", key="photo")
    moment = None if at is None else read_moment(at)
    if watch:
        if house is not None:
            raise InputError("applies to a show next to its house, not with --house", key="watch")
        watch_saves(show.parent, show.name, effect_folders or ())
        return
    with progress("drawing") as update:
        from lumenmap.jobs.preview import preview as write_preview
        from lumenmap.jobs.workers import workers as rendering_workers
        from lumenmap.pictures.options import PreviewOptions, check_width
        from lumenmap.pictures.scene.look import Look
        from lumenmap.pictures.scene.view import parse_view

        project = open_show(show, house, effect_folders, values)
        placed = cast("ViewName | View", view)
        if stand is not None or look_at is not None:
            placed = parse_view(stand, look_at, lens, project.site.house.unit)
        options = PreviewOptions(
            width=width,
            height=height,
            fps=fps,
            seconds=seconds,
            view=placed,
            look=Look(cast("Time", time), snow, trees, street_lamp, exposure),
            brightness=brightness,
            as_powered=as_powered,
            loop=loop,
            dither=dither,
            max_mb=max_mb,
            at=moment,
            sheet=sheet,
        ).filled(out.suffix.lower())
        check_width(options.size[0])
        with rendering_workers(workers, cluster) as pool:
            done, flashes, notes = write_preview(
                project,
                out,
                options,
                progress=update,
                workers=pool,
                photo=photo,
            )
    narrowed = (
        f", {done.size[0]} wide to stay under {max_mb:g} MB"
        if max_mb is not None and done.size < options.size
        else ""
    )
    say([f"wrote {out}{narrowed}", *notes, *flashing([f.report() for f in flashes])])
