"""lumenmap map: the position of every pixel."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Json, house_file, progress
from lumenmap.cli.shared.terminal import say, width


def map(
    house: Annotated[Path, typer.Argument(metavar="HOUSE", help="The house file, or its folder.")],
    as_csv: Annotated[bool, typer.Option("--csv", help="Print a CSV row for each pixel.")] = False,
    as_json: Json = False,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture",
            "-p",
            metavar="FILE",
            help="Draw plan and elevations as .svg, .png or .pdf.",
        ),
    ] = None,
) -> None:
    """Map every pixel of a house: as a table of edges, as CSV or JSON, or as a drawing.

    Example: lumenmap map my-house

    Example: lumenmap map my-house/house.toml --picture map.svg
    """
    from lumenmap.sheets.plans.mapping import mapping

    found = mapping(house_file(house))
    if picture is not None:
        with progress("drawing"):
            found.draw(picture)
    if as_csv:
        print(found.csv(), end="")
    elif as_json:
        print(found.json())
    else:
        wrote = [f"wrote {picture}"] if picture is not None else []
        say([*found.table(width()), *wrote])
