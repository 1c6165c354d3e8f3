"""lumenmap preview: the show on a picture of the house."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared import Effects, House, Show, open_show, progress


def preview(
    show: Show,
    out: Annotated[
        Path, typer.Option("--out", "-o", metavar="FILE", help="The GIF to write.")
    ] = Path("preview.gif"),
    house: House = None,
    effects: Effects = None,
    width: Annotated[
        int, typer.Option(help="Width of the picture in picture elements.", min=64, max=3840)
    ] = 640,
    fps: Annotated[float, typer.Option(help="Frames a second.", min=1, max=50)] = 15,
    as_powered: Annotated[
        bool,
        typer.Option("--as-powered", help="Show what low volts at the far pixels do to them."),
    ] = False,
) -> None:
    """Draw the show on your house at night, as a GIF to look at or send.

    It shows the very codes that the controller would get, limits included.

    Example: lumenmap preview my-house/show.toml -o tonight.gif
    """
    from lumenmap import pipeline

    work = open_show(show, house, effects)
    with progress("rendering") as told:
        pipeline.preview(work, out, width=width, fps=fps, as_powered=as_powered, progress=told)
    print(f"wrote {out}")
