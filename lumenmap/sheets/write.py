"""Writing the sheets of a house into a folder: all files, or none if anything fails."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path
from typing import Any

from lumenmap.core.extras import install
from lumenmap.core.folders.output_set import OutputSet
from lumenmap.core.wording import some
from lumenmap.drawing.document import csv_files, printed
from lumenmap.drawing.document_pdf import pdf_document
from lumenmap.drawing.html import html
from lumenmap.drawing.paper import PAPERS, Paper, paper_for
from lumenmap.drawing.pdf import pdf
from lumenmap.drawing.svg import svg
from lumenmap.parts.cautions import ladder
from lumenmap.sheets.book import book
from lumenmap.sheets.plans.mapping import mapping
from lumenmap.sheets.rails.families import by_letter
from lumenmap.sheets.rails.program import program
from lumenmap.sheets.rails.template import template

#: Files that need the optional packages of the extra ``sheets``.
PDF_FILES = ("sheets.pdf", "template.pdf")


def write_sheets(
    house: Path | str, folder: Path | str, paper: Paper | None = None
) -> dict[str, Any]:
    """Write all sheets of a house file into ``folder``; without the PDF library, all but the PDFs.

    Drilling programs of an earlier run for kinds of rail that no longer exist are deleted, unless
    somebody changed them.

    Parameters
    ----------
    paper
        The paper in the printer; by the house's unit if None.

    Returns
    -------
    dict
        What was written, and the totals of the cut list; ``words``: the same in lines for people.

    Raises
    ------
    InputError
        Anything wrong in the house file, or a folder that can't be written.
    """
    pixel_map = mapping(house)
    site = pixel_map.site
    size = PAPERS[paper or paper_for(site.house.unit)]
    name = site.house.name
    content = book(site, size)
    texts = csv_files(content.parts)
    texts["map.csv"] = pixel_map.csv()
    shown = printed(content.parts)
    texts["wiring.svg"] = svg(content.diagram)
    texts["sheets.html"] = html(shown, f"{name}: sheets to build from")
    drill = site.house.drill
    if drill is not None:
        for kind, same in by_letter(content.placed).items():
            texts[f"drill-{kind}.nc"] = program(kind, same[0].pattern, drill, name)
    has_pdf = find_spec("reportlab") is not None
    # Programs for kinds of rail that are gone would drill a rail wrongly.
    with OutputSet(folder, drops="drill-*.nc") as files:
        for file, text in texts.items():
            files.path(file).write_bytes(text.encode())
        if has_pdf:
            foot = ladder(site.house.unit)
            title = f"{name}: sheets to build from"
            pdf_document(shown, files.path("sheets.pdf"), size, title, foot)
            pages = template(content.placed, size, site.house.unit, site.house.bench.bit, name)
            pdf(pages, files.path("template.pdf"), f"{name}: drilling templates")
    names = sorted([*texts, *(PDF_FILES if has_pdf else ())])
    left = float(sum(b.left for b in content.bars))
    total = float(sum(b.length for b in content.bars))
    return {
        "house": name,
        "pixels": len(site.pixels),
        "rails": len(content.placed),
        "kinds": len(by_letter(content.placed)),
        "stock": len(content.bars),
        "waste": round(left / total, 4) if total else 0.0,
        "files": names,
        "notes": list(site.pixels.notes),
        "warnings": list(content.power.warnings),
        "missing": [] if has_pdf else list(PDF_FILES),
        "words": [
            f"{name}: {some(len(content.placed), 'rail')} of "
            f"{some(len(by_letter(content.placed)), 'kind')} from "
            f"{some(len(content.bars), 'stock length')}, "
            f"{100 * (left / total if total else 0):.0f} % left over",
            *(f"  NOTE: {note}" for note in site.pixels.notes),
            *(f"  DANGER: {text}" for text in content.power.dangers),
            *(f"  ACCEPTED: {a}" for a in site.verdict.accepted if site.house.supplies),
            *_power(len(content.power.doubts), house),
            _wrote(folder, names),
            *([] if has_pdf else [_without_pdf()]),
        ],
    }


def _wrote(folder: Path | str, names: list[str]) -> str:
    """Return where to begin reading, and how many more there are."""
    first = [n for n in ("sheets.pdf", "sheets.html", "template.pdf") if n in names]
    return f"wrote {folder}/: {', '.join(first)} and {some(len(names) - len(first), 'more file')}"


def _without_pdf() -> str:
    return (
        f"  {' and '.join(PDF_FILES)} need the reportlab library, which isn't installed: "
        f"{install('sheets')}. sheets.html has everything but the 1:1 templates"
    )


def _power(warnings: int, house: Path | str) -> list[str]:
    """Return how many warnings there are and where to read them."""
    if not warnings:
        return []
    many = f"{warnings} warnings" if warnings > 1 else "1 warning"
    return [
        f"  POWER: {many} at full white; see Wires to the line in the sheets, or run "
        f"lumenmap power {house} --all"
    ]
