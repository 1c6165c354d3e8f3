"""lumenmap new: a folder to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to start.")],
    metric: Annotated[bool, typer.Option("--metric", help="Metres, 5 V, instead of feet.")] = False,
) -> None:
    """Start a folder with a commented house and show that run as they stand.

    Example: lumenmap new my-house
    """
    from lumenmap.starter.start import start

    start(folder, metric=metric)
    print(f"started {folder}/: house.toml (your house: change this first), show.toml")
    print(f"next: lumenmap make {folder}/show.toml -o {folder}/out")
