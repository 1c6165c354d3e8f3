"""lumenmap map: where every pixel is."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Json


def map(
    house: Annotated[Path, typer.Argument(metavar="HOUSE", help="The house file.")],
    as_csv: Annotated[bool, typer.Option("--csv", help="Print each pixel as a CSV row.")] = False,
    as_json: Json = False,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture",
            "-p",
            metavar="FILE",
            help="Draw plan and elevations: .svg, .png or .pdf by the name.",
        ),
    ] = None,
) -> None:
    """Map every pixel of a house: as a table of edges, as CSV or JSON, or as a drawing.

    Example: lumenmap map my-house/house.toml

    Example: lumenmap map my-house/house.toml --picture map.svg
    """
    from lumenmap.sheets.plans.mapping import mapping

    laid = mapping(house)
    if picture is not None:
        laid.draw(picture)
    if as_csv:
        print(laid.csv(), end="")
    elif as_json:
        print(laid.json())
    else:
        print("\n".join(laid.table()))
        if picture is not None:
            print(f"wrote {picture}")
