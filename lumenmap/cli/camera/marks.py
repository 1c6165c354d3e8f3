"""lumenmap marks: find the camera of a photograph of your house from points marked on it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def marks(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="The house file, to list its points; or a file of marks, to check."
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE",
            help="A picture to write (.png): the house with its points numbered, or the photograph "
            "with its marks.",
        ),
    ] = None,
    photo: Annotated[
        Path | None,
        typer.Option(
            "--photo",
            metavar="PICTURE",
            help="With a house file: write a file of marks for this photograph next to the house.",
        ),
    ] = None,
) -> None:
    """Find where the camera of a photograph stood, from points of the house marked on it.

    Lists the points of a house that you can mark, in the order of use; -o draws them. Give it the
    file of marks then: it says where the camera stood, how far off each mark is, and which is
    wrong. `lumenmap preview --photo` draws a show on the photograph.

    Example: lumenmap marks my-house/house.toml -o points.png --photo my-house/front.jpg

    Example: lumenmap marks my-house/front.marks.toml -o check.png
    """
    from lumenmap.jobs.photo import check_marks, list_points

    if file.suffix == ".toml" and _is_house(file):
        print("\n".join(list_points(file, picture=out, photo=photo)))
        return
    print("\n".join(check_marks(file, picture=out)))


def _is_house(file: Path) -> bool:
    from lumenmap.core.tables import load_toml

    return "house" in load_toml(file)
