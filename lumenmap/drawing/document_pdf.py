"""A document as a PDF file with automatic page breaks."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from lumenmap.core.errors import InputError
from lumenmap.core.extras import install
from lumenmap.core.lengths import unbroken
from lumenmap.drawing.canvas import Drawing
from lumenmap.drawing.document import Heading, Part, Picture, Table, Text, Ticks
from lumenmap.drawing.pdf import MM, draw, latin
from lumenmap.drawing.tick_grid import LARGE, figure_size, tick_grid

MARGIN = 15.0
#: Width of a column of boxes to tick (mm).
TICK = 13.0


def pdf_document(
    parts: list[Part], path: Path, paper: tuple[float, float], title: str, caution: str = ""
) -> None:
    """Write a document to ``path``; ``paper`` (width, height) in mm.

    ``title``, and the line ``caution``, stand at the foot of every page.

    Raises
    ------
    InputError
        The PDF library isn't installed.
    """
    try:
        from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate
    except ImportError:
        raise InputError(f"PDF sheets need the reportlab library: {install('sheets')}") from None
    wide, high = paper[0] * MM, paper[1] * MM
    rim = MARGIN * MM

    def footer(canvas: Any, document: Any) -> None:
        canvas.setFont("Helvetica", 8)
        canvas.setFillGray(0.45)
        canvas.drawString(rim, 8 * MM, latin(title))
        canvas.drawRightString(canvas._pagesize[0] - rim, 8 * MM, f"page {document.page}")
        canvas.setFont("Helvetica", 7)
        canvas.setFillGray(0.2)
        canvas.drawString(rim, 11.5 * MM, latin(caution))

    plain = Frame(rim, rim, wide - 2 * rim, high - 2 * rim, 0, 0, 0, 0, id="plain")
    full = Frame(0, 0, high, wide, 0, 0, 0, 0, id="full")
    tall = Frame(0, 0, wide, high, 0, 0, 0, 0, id="tall")
    document = BaseDocTemplate(
        str(path),
        pagesize=(wide, high),
        title=title,
        creator="lumenmap",
        invariant=1,
        pageTemplates=[
            PageTemplate("portrait", [plain], onPage=footer, pagesize=(wide, high)),
            PageTemplate("landscape", [full], onPage=footer, pagesize=(high, wide)),
            PageTemplate("upright", [tall], onPage=footer, pagesize=(wide, high)),
        ],
    )
    document.build(_flowables(parts, (paper[0] - 2 * MARGIN, paper[1] - 2 * MARGIN)))


def _flowables(parts: list[Part], size: tuple[float, float]) -> list[Any]:
    from reportlab.platypus import NextPageTemplate, PageBreak, Paragraph, Spacer

    styles, room = _styles(), size[0]
    flowables: list[Any] = []
    full = False
    for i, part in enumerate(parts):
        if isinstance(part, Picture) and part.full_page:
            way = "upright" if part.drawing.height > part.drawing.width else "landscape"
            flowables += [NextPageTemplate(way), PageBreak(), _boxed(part.drawing, None)]
            full = True
            continue
        starts = full or (isinstance(part, Heading) and part.new_page)
        if starts and i:
            flowables += [NextPageTemplate("portrait"), PageBreak()]
        elif i and isinstance(parts[i - 1], Table):
            # Not after every table: below one that fills its page it would make an empty page.
            flowables.append(Spacer(0, 3 * MM))
        full = False
        if isinstance(part, Heading):
            style = styles["sheet"] if part.new_page or i == 0 else styles["part"]
            flowables.append(Paragraph(_text(part.text), style))
        elif isinstance(part, Text):
            style = styles["caution"] if part.caution else styles["text"]
            lead = f"<b>{_text(part.lead)}</b> " if part.lead else ""
            flowables.append(Paragraph(lead + _text(part.text), style))
            # What announces a table isn't left alone at the foot of a page.
            flowables[-1].keepWithNext = part.text.endswith(":")
        elif isinstance(part, Picture):
            flowables.append(_boxed(part.drawing, room))
        elif isinstance(part, Ticks):
            flowables.append(_ticks(part, size))
        else:
            flowables.append(_table(part, room, styles))
    return flowables


def _styles() -> dict[str, Any]:
    from reportlab.lib.colors import HexColor
    from reportlab.lib.enums import TA_RIGHT
    from reportlab.lib.styles import ParagraphStyle

    ink = HexColor("#1d2530")
    text = ParagraphStyle(
        "text", fontName="Helvetica", fontSize=9.5, leading=13, textColor=ink, spaceAfter=6
    )
    cell = ParagraphStyle("cell", text, fontSize=8, leading=9.6, spaceAfter=0)
    head = ParagraphStyle("head", cell, fontName="Helvetica-Bold")
    return {
        "text": text,
        "sheet": ParagraphStyle(
            "sheet", text, fontName="Helvetica-Bold", fontSize=18, leading=22, spaceAfter=8
        ),
        "part": ParagraphStyle(
            "part",
            text,
            fontName="Helvetica-Bold",
            fontSize=12,
            leading=15,
            spaceBefore=8,
            spaceAfter=4,
            keepWithNext=1,
        ),
        "caution": ParagraphStyle(
            "caution",
            text,
            borderColor=HexColor("#c4161c"),
            borderWidth=0.7,
            borderPadding=5,
            backColor=HexColor("#fdf3f2"),
            spaceBefore=5,
            spaceAfter=9,
            leftIndent=6,
            rightIndent=6,
        ),
        "cell": cell,
        "number": ParagraphStyle("number", cell, alignment=TA_RIGHT),
        "head": head,
        "head number": ParagraphStyle("head number", head, alignment=TA_RIGHT),
    }


def _table(table: Table, room: float, styles: dict[str, Any]) -> Any:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Paragraph, TableStyle
    from reportlab.platypus import Table as Grid

    def cell(text: str, i: int, head: bool) -> Any:
        name = (
            ("head number" if head else "number")
            if i in table.right_aligned
            else ("head" if head else "cell")
        )
        return Paragraph(_text(text), styles[name])

    head = [cell(c, i, True) for i, c in enumerate((*table.columns, *table.ticks))]
    rows = [head]
    for row in table.rows:
        boxes = [_boxed(_tick_box(), None) for _ in table.ticks]
        rows.append([*(cell(c, i, False) for i, c in enumerate(row)), *boxes])
    room -= TICK * len(table.ticks)
    widths = [s * room * MM for s in table.widths or _shares(table)]
    widths += [TICK * MM] * len(table.ticks)
    grid = Grid(rows, widths, repeatRows=1, hAlign="LEFT")
    grid.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("TOPPADDING", (0, 0), (-1, -1), 1.8),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 1.8),
                ("LEFTPADDING", (0, 0), (-1, -1), 3),
                ("RIGHTPADDING", (0, 0), (-1, -1), 3),
                # Figures end where the words of the next column begin: keep them apart.
                *(("RIGHTPADDING", (i, 0), (i, -1), 8) for i in table.right_aligned),
                ("LINEBELOW", (0, 0), (-1, 0), 0.9, HexColor("#1d2530")),
                ("ROWBACKGROUNDS", (0, 1), (-1, -1), [HexColor("#ffffff"), HexColor("#f1f4f6")]),
            ]
        )
    )
    return grid


def _shares(table: Table) -> list[float]:
    """Return the fraction of the width for each column, by its longest cell, within limits."""
    longest = [
        min(48, max(5, *(len(row[i]) for row in (table.columns, *table.rows))))
        + 2 * (i in table.right_aligned)
        for i in range(len(table.columns))
    ]
    return [n / sum(longest) for n in longest]


def _text(text: str) -> str:
    """Return text as the library's markup, in the letters of its fonts."""
    return escape(latin(unbroken(text)))


def _tick_box() -> Drawing:
    page = Drawing(TICK - 2.5, 3.6)
    page.line([(0, 0), (3.4, 0), (3.4, 3.4), (0, 3.4), (0, 0)], width=0.3)
    return page


def _ticks(ticks: Ticks, size: tuple[float, float]) -> Any:
    """Return boxes to tick in what is left of the page, or on the next if that is too little."""
    from reportlab.platypus import Flowable

    class Grid(Flowable):  # type: ignore[misc]
        def wrap(self, wide: float, high: float) -> tuple[float, float]:
            room = high / MM
            if room <= 0 or figure_size(ticks, size[0], room) < LARGE:
                room = size[1]
            self.drawing = tick_grid(ticks, size[0], room - 0.1)
            return wide, self.drawing.height * MM

        def draw(self) -> None:
            self.canv.saveState()
            draw(self.canv, self.drawing)
            self.canv.restoreState()

    return Grid()


def _boxed(drawing: Drawing, room: float | None) -> Any:
    """Return a drawing as a flowable, at its true size or as wide as the room (mm)."""
    from reportlab.platypus import Flowable

    scale = room / drawing.width if room is not None else 1.0

    class Box(Flowable):  # type: ignore[misc]
        def __init__(self) -> None:
            super().__init__()
            # Slightly smaller, so that it fits a frame of exactly its size.
            self.width = drawing.width * scale * MM - 0.01
            self.height = drawing.height * scale * MM - 0.01

        def draw(self) -> None:
            self.canv.saveState()
            self.canv.scale(scale, scale)
            draw(self.canv, drawing)
            self.canv.restoreState()

    return Box()
