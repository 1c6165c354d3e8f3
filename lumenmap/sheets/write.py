"""Writing the sheets of a house into a folder, all of them or none."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path
from typing import Any

from lumenmap.core.extras import install
from lumenmap.core.files import OutputSet
from lumenmap.drawing.document import Table, csv_files
from lumenmap.drawing.document_pdf import flow
from lumenmap.drawing.html import html
from lumenmap.drawing.paper import PAPERS, Paper, paper_for
from lumenmap.drawing.pdf import pdf
from lumenmap.sheets.book import book
from lumenmap.sheets.plans.mapping import mapping
from lumenmap.sheets.rails.families import alike
from lumenmap.sheets.rails.program import program
from lumenmap.sheets.rails.template import template

#: Files that take a library of the extra ``sheets``.
PRINTED = ("sheets.pdf", "template.pdf")


def write_sheets(
    house: Path | str, folder: Path | str, paper: Paper | None = None
) -> dict[str, Any]:
    """Write all sheets of a house file into ``folder``; without the PDF library, all but PDFs.

    Drilling programs of an earlier run that belong to no rail any more are taken away.

    Parameters
    ----------
    paper
        ``letter`` or ``a4``; by the house's unit if None.

    Returns
    -------
    dict
        What was written and the sums of the cut list; ``words``: the same in lines for people.

    Raises
    ------
    InputError
        Anything wrong in the house file, or a folder that can't be written.
    """
    laid = mapping(house)
    site = laid.site
    size = PAPERS[paper or paper_for(site.house.unit)]
    name = site.house.name
    made = book(site, size)
    texts = csv_files(made.parts)
    texts["map.csv"] = laid.csv()
    shown = [part.printed() if isinstance(part, Table) else part for part in made.parts]
    texts["sheets.html"] = html(shown, f"{name}: sheets to build from")
    drill = site.house.drill
    if drill is not None:
        for kind, same in alike(made.placed).items():
            texts[f"drill-{kind}.nc"] = program(kind, same[0].pattern, drill, name)
    printer = find_spec("reportlab") is not None
    with OutputSet(folder) as files:
        for file, text in texts.items():
            files.path(file).write_text(text, encoding="utf-8")
        if printer:
            flow(shown, files.path("sheets.pdf"), size, f"{name}: sheets to build from")
            bit = drill.bit if drill is not None else None
            pages = template(made.placed, size, site.house.unit, bit, name)
            pdf(pages, files.path("template.pdf"), f"{name}: drilling templates")
    for old in Path(folder).glob("drill-*.nc"):
        if old.name not in texts:  # of an earlier house file: it would drill the wrong rail
            old.unlink()
    names = sorted([*texts, *(PRINTED if printer else ())])
    left = float(sum(b.left for b in made.bars))
    total = float(sum(b.length for b in made.bars))
    return {
        "house": name,
        "pixels": len(site.pixels),
        "rails": len(made.placed),
        "kinds": len(alike(made.placed)),
        "stock": len(made.bars),
        "waste": round(left / total, 4) if total else 0.0,
        "files": names,
        "notes": list(site.pixels.notes),
        "warnings": list(made.power.warnings),
        "missing": [] if printer else list(PRINTED),
        "words": [
            f"{name}: {len(made.placed)} rails of {len(alike(made.placed))} kinds from "
            f"{len(made.bars)} stock lengths, {left / total if total else 0:.0%} left over",
            *(f"  LOOK: {note}" for note in site.pixels.notes),
            *(f"  FUSE: {f.complaint}" for f in made.power.unprotected),
            *_power(made.power.warnings),
            f"wrote {folder}/: {', '.join(names)}",
            *([] if printer else [_no_printer()]),
        ],
    }


def _no_printer() -> str:
    return (
        f"  {' and '.join(PRINTED)} need the reportlab library, which is not installed "
        f"({install('sheets')}); sheets.html prints all but the 1:1 templates"
    )


def _power(warnings: tuple[str, ...]) -> list[str]:
    """Point at the warnings, which are long and stand in the sheets."""
    if not warnings:
        return []
    many = f"{len(warnings)} warnings" if len(warnings) > 1 else "1 warning"
    return [f"  POWER: {many}; see Power in the sheets, or run lumenmap power"]
