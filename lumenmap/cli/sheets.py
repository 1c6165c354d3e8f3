"""lumenmap sheets: what to cut, drill, wire and buy, on paper."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Json, house_file, print_report, progress
from lumenmap.drawing.paper import Paper


def sheets(
    house: Annotated[Path, typer.Argument(metavar="HOUSE", help="The house file, or its folder.")],
    out: Annotated[Path, typer.Option("--out", "-o", metavar="DIR", help="Folder to write to.")],
    paper: Annotated[
        Paper | None,
        typer.Option(
            case_sensitive=False, help="letter or a4; by default letter for feet, a4 for metres."
        ),
    ] = None,
    as_json: Json = False,
) -> None:
    """Write the sheets to build from: what to cut, drill, hang, wire and buy.

    Drill sheets are in the marks of your tape: [drill] tape in the house file. Writes sheets.pdf
    and sheets.html (everything), wiring.svg (the wiring diagram), template.pdf (1:1, to drill
    through) and CSV files. The PDF files need the optional "sheets" packages. If [drill] describes
    a machine, also writes a drilling program for each kind of rail.

    Example: lumenmap sheets my-house -o sheets
    """
    from lumenmap.sheets.write import write_sheets

    with progress("drawing"):
        report = write_sheets(house_file(house), out, paper)
    print_report(report, report["words"], as_json)
