"""What stands round the wiring diagram: the supplies' boxes at the left, and the legend below."""

from __future__ import annotations

from lumenmap.core.lengths import unbroken
from lumenmap.drawing.canvas import GREY, Drawing, TextStyle
from lumenmap.house.supplies import Supply
from lumenmap.parts.cautions import ladder
from lumenmap.sheets.wires import symbols
from lumenmap.sheets.wires.symbols import PLUS

#: Left and right edge of the supplies' boxes, and of the fuses in them (mm).
BOX, FUSE = (1.0, 60.0), (32.0, 59.0)
#: A supply, and the height and amps of a fuse at the left.
Fuse = tuple[str, float, float | None]


def boxes(page: Drawing, supplies: tuple[Supply, ...], fuses: list[Fuse]) -> None:
    """Draw the supplies round their fuses, in order down the page: a box for each group."""
    groups: list[list[Fuse]] = []
    for row in fuses:
        if groups and groups[-1][0][0] == row[0]:
            groups[-1].append(row)
        else:
            groups.append([row])
    named = {s.name: s for s in supplies}
    told: set[str] = set()
    for group in groups:
        name, first = group[0][0], group[0][1]
        last = group[-1][1]
        high = max(last - first + 10.5, 15.0)
        symbols.dashed_box(page, (BOX[0], first - 6), (BOX[1] - BOX[0], high))
        _name(page, f"{name}, again" if name in told else name, first)
        s = named[name]
        label = "" if s.label is None else f", {s.label:.4g} A"
        page.text((3, first + 3.2), f"{s.volts:g} V{label}", TextStyle(3.2))
        page.text((3, first + 7.2), f"{s.amps:.4g} A for hours", TextStyle(2.7, colour=GREY))
        told.add(name)
        page.line([(FUSE[0] - 2, first), (FUSE[0] - 2, last)], PLUS, 0.8)
        for _, level, amps in group:
            page.line([(FUSE[0] - 2, level), (FUSE[0], level)], PLUS, 0.8)
            symbols.fuse(page, (FUSE[0], level), FUSE[1] - FUSE[0], amps)


def _name(page: Drawing, name: str, y: float) -> None:
    size = min(3.8, (FUSE[0] - 7) / (0.56 * len(name)))
    page.text((3, y - 1.6), name, TextStyle(max(size, 2.2), bold=True))


def legend(page: Drawing, y: float, right: float, unit: str, *, narrow: bool = False) -> None:
    """Say what the symbols mean, and the caution of the page.

    ``narrow``: numbers of pixels stand at connectors too.
    """
    page.line([(0, y - 4), (right, y - 4)], GREY, 0.2)
    symbols.pair(page, [(0, y + 1), (9, y + 1)])
    page.text((11, y + 2), "a pair: plus (fused), minus", TextStyle(2.8))
    symbols.joint(page, (60, y + 1))
    page.text((63, y + 2), "joined; no dot: not joined", TextStyle(2.8))
    symbols.connector(page, 109, y - 1.5, y + 3.5)
    page.text((113, y + 2), "connector", TextStyle(2.8))
    page.line([(134, y + 1), (144, y + 1)], PLUS, 0.7)
    symbols.cut(page, 139, y + 1)
    page.text((146, y + 2), "cut: plus only", TextStyle(2.8))
    at_plugs = "; 2: 51 is connector 2, before pixel 51" if narrow else ""
    text = (
        f"Numbers in the strings are pixels{at_plugs}. Go by the number on a fuse, not by its "
        "colour. All minus wires are joined, those of all supplies and the controller's too. For "
        "what a data lead needs, see the table below the wiring list."
    )
    y += 8.5
    for line in wrapped(text, 118):
        page.text((0, y), line, TextStyle(2.8))
        y += 4
    for line in wrapped(ladder(unit), 105):
        page.text((0, y + 1.5), line, TextStyle(2.8, bold=True, colour=PLUS))
        y += 4


def wrapped(text: str, most: int) -> list[str]:
    """Return a text in lines of at most so many characters; figures keep their units."""
    lines = [""]
    for word in unbroken(" ".join(text.split())).split(" "):
        if len(lines[-1]) + len(word) + 1 > most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]
