"""Labels to cut out and fix to the wires, so that each is known at both ends."""

from __future__ import annotations

from lumenmap.drawing.canvas import GREY, INK, Drawing, TextStyle
from lumenmap.sheets.wires.data import data_leads
from lumenmap.sheets.wires.diagram_frame import wrapped
from lumenmap.sheets.wires.joints import tell_cut
from lumenmap.sheets.wires.leads import cuts, leads, show_fuse
from lumenmap.sheets.wires.spots import tell
from lumenmap.site import Site

#: Labels side by side, their height, and the gap between them (mm).
ACROSS, HIGH, GAP = 2, 23.0, 2.0
#: Size of the type below the mark (mm): read in the hand.
TYPE = 3.0
#: What a label holds: its mark, then lines of text.
Label = tuple[str, tuple[str, ...]]


def labels(site: Site) -> list[Label]:
    """Return the labels: two for each pair of wires and data lead, one for each cut and tie.

    Raises
    ------
    InputError
        A place that isn't on its line.
    """
    unit = site.house.unit
    found: list[Label] = []
    for lead in leads(site):
        if lead.kind == "bus":
            bus = (f"bus along {lead.line}", lead.make(unit))
            found += [(lead.mark, bus)] * 2
            continue
        where = tell(site, lead.line, lead.place)
        source = f"{lead.source} to {lead.line}"
        wire = "" if lead.kind == "tie" else f"{lead.make(unit)}; "
        fuse = show_fuse(lead.fuse)
        words = (source, where, f"{wire}{'fuse: ' if lead.fuse else ''}{fuse}")
        found += [(lead.mark, words)] * (1 if lead.kind == "tie" else 2)
    for data in data_leads(site):
        words = (f"data, output {data.output}", f"to pixel 1 of {data.line}", "unplug first")
        found += [(data.mark, words)] * 2
    for cut in cuts(site):
        found.append((cut.mark, (cut.line, tell_cut(site, cut), "plus only; minus and data whole")))
    return found


def tags(site: Site, room: tuple[float, float]) -> list[Drawing]:
    """Return pages of labels, each within ``room`` (width, height in mm)."""
    every = labels(site)
    rows = int((room[1] + GAP) / (HIGH + GAP))
    size = rows * ACROSS
    return [_page(every[i : i + size], room[0]) for i in range(0, len(every), size)]


def _page(some: list[Label], width: float) -> Drawing:
    wide = (width - GAP * (ACROSS - 1)) / ACROSS
    rows = -(-len(some) // ACROSS)
    page = Drawing(width, rows * (HIGH + GAP))
    for k, (mark, words) in enumerate(some):
        x, y = k % ACROSS * (wide + GAP), k // ACROSS * (HIGH + GAP)
        corners = [(x, y), (x + wide, y), (x + wide, y + HIGH), (x, y + HIGH), (x, y)]
        page.line(corners, GREY, 0.2, 1.2)
        page.text((x + 2.5, y + 8), mark, TextStyle(6, bold=True))
        begin = 0.56 * 6.4 * len(mark) + 6
        page.text((x + begin, y + 7.2), _cut(words[0], wide - begin - 1, 3.6), TextStyle(3.6))
        lines = [
            line for text in words[1:] for line in wrapped(text, int((wide - 5) / (0.5 * TYPE)))
        ]
        step = min(5.0, (HIGH - 13) / max(1, len(lines) - 0.6))
        for i, text in enumerate(lines):
            page.text((x + 2.5, y + 13 + step * i), text, TextStyle(TYPE, colour=INK))
    return page


def _cut(text: str, room: float, size: float) -> str:
    """Return as much of a text as the room holds."""
    most = int(room / (0.5 * size))
    return text if len(text) <= most else f"{text[: most - 3]}..."
