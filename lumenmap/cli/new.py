"""lumenmap new: a folder to start with."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer


def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to create.")],
    metric: Annotated[
        bool,
        typer.Option("--metric", help="A house in metres with 5 V pixels, instead of one in feet."),
    ] = False,
) -> None:
    """Create a folder with a house, a show and an almanac, full of comments and ready to run.

    Example: lumenmap new my-house
    """
    from lumenmap.starter.start import start

    start(folder, metric=metric)
    print(
        f"created {folder}/: house.toml (change this first: it is your house), show.toml, "
        "almanac.toml"
    )
    typed = {name: shlex.quote(str(folder / name)) for name in ("", "show.toml", "out")}
    print(f"next: lumenmap desk {typed['']}")
    print(f"or without a browser: lumenmap make {typed['show.toml']} -o {typed['out']}")
