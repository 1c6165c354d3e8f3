"""lumenmap sheets: what to cut, drill, wire and buy."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Json, say


class Paper(StrEnum):
    """The paper in the printer."""

    LETTER = "letter"
    A4 = "a4"


def sheets(
    house: Annotated[Path, typer.Argument(metavar="HOUSE", help="The house file.")],
    out: Annotated[Path, typer.Option("--out", "-o", metavar="DIR", help="Where to write.")],
    paper: Annotated[
        Paper | None, typer.Option(help="letter or a4; by the house's unit if left out.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Write the sheets to build from: cut list, drill sheets, templates, wiring, what to buy.

    Writes sheets.pdf and sheets.html (all of them), template.pdf (1:1, to drill through), CSV files
    (PDFs only with the extra "sheets") and, where the house file has a [drill] table, a drilling
    program for each kind of rail.

    Example: lumenmap sheets my-house/house.toml -o sheets
    """
    from lumenmap.sheets.write import write_sheets

    report = write_sheets(house, out, paper.value if paper else None)
    say(report, report["words"], as_json)
