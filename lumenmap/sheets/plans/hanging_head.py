"""The head of a hanging drawing: its side, the caution about ladders, and what marks mean."""

from __future__ import annotations

from lumenmap.drawing.canvas import GREY, Drawing, TextStyle
from lumenmap.parts.cautions import ladder
from lumenmap.sheets.wires.diagram_frame import wrapped
from lumenmap.site import Site

#: Type of the title, of what marks mean, and of the caution (mm); the colour of that and of datum
#: ends.
TITLE, TYPE, CAUTION, DATUM = 8.0, 4.0, 3.4, "#c4161c"
#: Mean width of a letter in a sentence, in units of its type [C]; height of a line (mm).
LETTER, LINE = 0.5, 6.0
#: What stands before a meaning, and after it (mm).
MARK, GAP = 3.0, 8.0


def draw_head(page: Drawing, site: Site, name: str, margin: float, *, behind: bool) -> float:
    """Draw the head of one side's page, and return how far down it reaches (mm).

    ``behind``: whether some edge on it is out of sight.
    """
    page.text((margin, margin + 7), f"Hanging: {name}", TextStyle(TITLE, bold=True))
    note = f"{site.house.name}, seen from outside"
    page.text((page.width - margin, margin + 6), note, TextStyle(TYPE, "end", GREY))
    y, room = margin + 14.0, page.width - 2 * margin
    for line in wrapped(ladder(site.house.unit), int(room / (LETTER * CAUTION))):
        page.text((margin, y), line, TextStyle(CAUTION, colour=DATUM))
        y += LINE
    meanings = ["datum end", "clip", "A1: rail of kind A, number 1", "F1: pair of wires joins here"]
    meanings += ["behind: out of sight from here"] * behind
    x = margin
    for text in meanings:
        before = MARK if text in ("datum end", "clip") else 0.0
        wide = before + LETTER * TYPE * len(text)
        if x > margin and x + wide > page.width - margin:
            x, y = margin, y + LINE
        if text == "datum end":
            page.line([(x + 0.4, y - 3.5), (x + 0.4, y + 1.1)], DATUM, 1.0)
        elif text == "clip":
            page.dot((x + 0.5, y - 1.3), 0.9)
        page.text((x + before, y), text, TextStyle(TYPE))
        x += wide + GAP
    return y + 4
