"""Drawings as the pages of a PDF file, printed at their true size."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from lumenmap.core.errors import InputError
from lumenmap.core.extras import install
from lumenmap.drawing.canvas import Area, Dot, Drawing, Stroke, TextLine

#: PostScript points a millimetre.
MM = 72 / 25.4


def pdf(pages: Iterable[Drawing], path: Path, title: str) -> None:
    """Write pages to a PDF file that asks the viewer to print it at 100 %.

    Raises
    ------
    InputError
        The PDF library isn't installed.
    """
    try:
        from reportlab.pdfgen.canvas import Canvas
    except ImportError:
        raise InputError(f"PDF sheets need the reportlab library: {install('sheets')}") from None
    canvas = Canvas(str(path), pageCompression=1, invariant=1)
    canvas.setTitle(title)
    canvas.setCreator("lumenmap")
    canvas.setViewerPreference("PrintScaling", "None")
    for page in pages:
        canvas.setPageSize((page.width * MM, page.height * MM))
        draw(canvas, page)
        canvas.showPage()
    canvas.save()


def draw(canvas: Any, drawing: Drawing) -> None:
    """Draw on a canvas of the PDF library, with the lower left corner at its origin."""
    from reportlab.lib.colors import HexColor

    # Our millimetres run down from the top left; PDF's points run up from the bottom left.
    canvas.translate(0, drawing.height * MM)
    canvas.scale(MM, -MM)
    canvas.setLineJoin(1)
    for mark in drawing.marks:
        _mark(canvas, mark, HexColor)


def _mark(canvas: Any, mark: Stroke | Area | Dot | TextLine, colour: Any) -> None:
    if isinstance(mark, TextLine):
        _text(canvas, mark, colour)
        return
    canvas.setStrokeColor(colour(mark.colour))
    canvas.setLineWidth(mark.width)
    if isinstance(mark, Stroke):
        canvas.setDash(*([mark.dash, mark.dash] if mark.dash else [[], 0]))
        _path(canvas, mark.points, close=False, fill=0, stroke=1)
        canvas.setDash([], 0)
    elif isinstance(mark, Area):
        canvas.setFillColor(colour(mark.fill))
        _path(canvas, mark.points, close=True, fill=1, stroke=1 if mark.width else 0)
    else:
        if mark.fill:
            canvas.setFillColor(colour(mark.fill))
        canvas.circle(
            *mark.centre, mark.radius, stroke=1 if mark.width else 0, fill=1 if mark.fill else 0
        )


def _path(canvas: Any, points: Any, *, close: bool, fill: int, stroke: int) -> None:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if close:
        path.close()
    canvas.drawPath(path, fill=fill, stroke=stroke)


def _text(canvas: Any, mark: TextLine, colour: Any) -> None:
    style, text = mark.style, latin(mark.text)
    font = "Helvetica-Bold" if style.bold else "Helvetica"
    width = canvas.stringWidth(text, font, style.size)
    shift = {"start": 0.0, "middle": -width / 2, "end": -width}[style.anchor]
    canvas.saveState()
    canvas.translate(*mark.at)
    canvas.scale(1, -1)
    canvas.rotate(style.rotation)
    canvas.setFont(font, style.size)
    if style.halo:
        canvas.setStrokeColor(colour("#ffffff"))
        canvas.setLineWidth(style.size / 4)
        canvas.drawString(shift, 0, text, mode=1)
    canvas.setFillColor(colour(style.colour))
    canvas.drawString(shift, 0, text)
    canvas.restoreState()


def latin(text: str) -> str:
    """Return text with characters that the built-in fonts lack replaced by ones they have."""
    for missing, present in (("→", ">"), ("−", "-"), ("′", "'"), ("″", '"'), ("≤", "<=")):
        text = text.replace(missing, present)
    kept = [c if _known(c) else unicodedata.normalize("NFKD", c)[0] for c in text]
    return "".join(kept).encode("cp1252", "replace").decode("cp1252")


def _known(character: str) -> bool:
    try:
        character.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True
