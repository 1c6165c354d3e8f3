"""lumenmap marks: find the camera of a photograph of your house from points marked on it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import house_file, progress
from lumenmap.cli.shared.terminal import say


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
            "with its marks. With --photo, a page (.html) on which you mark the points by touch.",
        ),
    ] = None,
    photo: Annotated[
        Path | None,
        typer.Option(
            "--photo",
            metavar="PICTURE",
            help="With a house file: the photograph to mark, in the same folder. Without a page, a "
            "file of marks to fill in is written next to it.",
        ),
    ] = None,
) -> None:
    """Find where the camera of a photograph stood, from points of the house marked on it.

    Lists the points of a house that you can mark, in the order of use. With --photo and a page, you
    mark them by touch, on a phone too. Give it the file of marks then: it says where the camera
    stood, how far off each mark is, and which is wrong. `lumenmap preview --photo` draws a show on
    the photograph.

    Example: lumenmap marks my-house/house.toml --photo my-house/front.jpg -o mark.html

    Example: lumenmap marks my-house/front.marks.toml -o check.png
    """
    from lumenmap.jobs.photo import check_marks, list_points

    file = house_file(file)
    if file.suffix == ".toml" and _is_house(file):
        with progress("drawing"):
            words = list_points(file, picture=out, photo=photo)
        say(words)
        return
    with progress("looking"):
        words = check_marks(file, picture=out)
    say(words)


def _is_house(file: Path) -> bool:
    from lumenmap.core.toml.reading import load_toml

    return "house" in load_toml(file)
