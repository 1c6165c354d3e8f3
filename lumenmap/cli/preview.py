"""lumenmap preview: the show on a picture of the house."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lumenmap.cli.shared.options import Cluster, Effects, House, Show, Workers, open_show, progress

if TYPE_CHECKING:
    from lumenmap.pictures.scene.view import View


def preview(
    show: Show,
    out: Annotated[
        Path,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE",
            help="What to write, by its ending: .gif .webp .apng .mp4 .webm .png .html",
        ),
    ] = Path("preview.gif"),
    house: House = None,
    effects: Effects = None,
    width: Annotated[
        int | None, typer.Option(help="Width in picture elements, 64 to 3840.")
    ] = None,
    height: Annotated[int, typer.Option(help="Height; 9/16 of the width if left out.")] = 0,
    fps: Annotated[float, typer.Option(help="Frames a second.", min=0.1, max=60)] = 15,
    seconds: Annotated[
        float | None, typer.Option(help="Stop after this much of the show.", min=0.01)
    ] = None,
    view: Annotated[
        str, typer.Option(help="street, front, from-left, from-right, upstairs.")
    ] = "street",
    stand: Annotated[
        str | None,
        typer.Option(
            "--stand", metavar="X,Y,Z", help="Your own place to look from, in the house's unit."
        ),
    ] = None,
    look_at: Annotated[
        str | None,
        typer.Option("--look-at", metavar="X,Y,Z", help="What it looks at, in the house's unit."),
    ] = None,
    lens: Annotated[float, typer.Option(help="Its lens, mm on 36 mm wide film.")] = 35,
    time: Annotated[str, typer.Option("--time", help="day, dusk or night.")] = "dusk",
    snow: Annotated[bool, typer.Option("--snow", help="Snow on roof and ground.")] = False,
    trees: Annotated[bool, typer.Option(help="Trees and shrubs round the house.")] = True,
    street_lamp: Annotated[bool, typer.Option("--street-lamp", help="A lamp in the yard.")] = False,
    max_mb: Annotated[
        float | None, typer.Option("--max-mb", help="Make it smaller until it fits.")
    ] = None,
    loop: Annotated[int, typer.Option(help="Times to play; 0 for ever.", min=0, max=65535)] = 0,
    dither: Annotated[bool, typer.Option("--dither", help="GIF: ordered dithering.")] = False,
    at: Annotated[float | None, typer.Option("--at", help="PNG: the moment, s.")] = None,
    sheet: Annotated[int, typer.Option(help="PNG: this many moments on one sheet.")] = 0,
    as_powered: Annotated[
        bool,
        typer.Option("--as-powered", help="Show pixels as dim and warm as low voltage makes them."),
    ] = False,
    workers: Workers = 1,
    cluster: Cluster = "",
) -> None:
    """Draw the show on your house at night: a GIF to send, a film, a still, or a page that plays.

    It shows the very codes that the controller would get, limits included. The .html page needs
    nothing else and no network; it also shows the amps of each supply.

    Example: lumenmap preview my-house/show.toml -o tonight.gif --max-mb 5
    """
    from lumenmap.jobs.preview import preview as write_preview
    from lumenmap.jobs.workers import workers as given
    from lumenmap.pictures.options import PreviewOptions, check_width
    from lumenmap.pictures.scene.look import Look
    from lumenmap.pictures.scene.view import parse_place

    project = open_show(show, house, effects)
    placed: str | View = view
    if stand is not None or look_at is not None:
        placed = parse_place(stand, look_at, lens, project.site.house.unit)
    options = PreviewOptions(
        width=width,
        height=height,
        fps=fps,
        seconds=seconds,
        view=placed,
        look=Look(time, snow, trees, street_lamp),
        as_powered=as_powered,
        loop=loop,
        dither=dither,
        max_mb=max_mb,
        at=at,
        sheet=sheet,
    ).filled(out.suffix.lower())
    check_width(options.size[0])
    with given(workers, cluster) as pool, progress("rendering") as told:
        done = write_preview(project, out, options, progress=told, workers=pool)
    narrowed = (
        f", {done.size[0]} wide to stay under {max_mb:g} MB" if done.size < options.size else ""
    )
    print(f"wrote {out}{narrowed}")
