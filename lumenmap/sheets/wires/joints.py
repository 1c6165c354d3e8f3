"""What is done where along each line: strings plugged together, wires joined, the plus cut."""

from __future__ import annotations

from collections.abc import Iterator

from lumenmap.core.lengths import show_length
from lumenmap.drawing.document import Heading, Part, Table, Text
from lumenmap.sheets.wires.data import data_leads, remedies
from lumenmap.sheets.wires.leads import Cut, Lead, cuts, leads, show_fuse
from lumenmap.sheets.wires.spots import edge_at, tell
from lumenmap.site import Site


def joints(site: Site, line: str) -> Iterator[Part]:
    """Yield a table of the places of a line where something is done, in the order of the data."""
    rows = tuple((line, *row) for row in _rows(site, line))
    if rows:
        columns = ("line", "where", "what to do")
        widths = (0.12, 0.46, 0.42)
        yield Table("joints", columns, rows, widths=widths, ticks=("done",))


def _rows(site: Site, line: str) -> list[tuple[str, str]]:
    own = site.places[line]
    plugs = [
        (c.wire, 0, tell(site, line, c), "plug the strings together") for c in own.connectors[1:-1]
    ]
    joins = [
        (lead.place.wire, 1, tell(site, line, lead.place), _what(lead))
        for lead in leads(site)
        if lead.line == line and lead.joins
    ]
    opened = [
        (cut.wire, 2, tell_cut(site, cut), f"{cut.mark}: {cut.order}")
        for cut in cuts(site)
        if cut.line == line
    ]
    return [(where, what) for _, _, where, what in sorted([*plugs, *joins, *opened])]


def tell_cut(site: Site, cut: Cut) -> str:
    """Say where a cut is."""
    along = show_length(cut.along, site.house.unit)
    edge = edge_at(site, cut.line, cut.along)
    return f"between pixels {cut.pixel} and {cut.pixel + 1} on {edge}, {along} along the line"


def _what(lead: Lead) -> str:
    if lead.kind == "tie":
        return f"{lead.mark}: tie to {lead.source}, {show_fuse(lead.fuse)}"
    return (
        f"{lead.mark}: {lead.kind} from {lead.source}, {lead.wire}, {show_fuse(lead.fuse)}; plus "
        "to plus, minus to minus"
    )


def data_sheet(site: Site) -> Iterator[Part]:
    """Yield the data leads, and what long ones need."""
    yield Heading("What a data lead needs", new_page=False)
    unit = site.house.unit
    rows = []
    for lead in data_leads(site):
        long = show_length(lead.length, unit) + (", assumed" if lead.assumed else "")
        needs = "a resistor and a level shifter"
        if lead.balanced:
            needs = "a line driver and a receiver: it is too long for one wire"
        elif lead.repeats:
            has = "the line begins with one" if lead.repeater else "the line has none yet"
            needs += f", and a pixel that repeats the data ({has})"
        rows.append((str(lead.output), lead.line, long, needs))
    yield Table(
        "data-leads",
        ("output", "line", "lead to pixel 1", "needs"),
        tuple(rows),
        widths=(0.09, 0.16, 0.2, 0.55),
    )
    yield Text("The usual remedies for long leads, and where each figure is from:")
    yield Table(
        "data-remedies",
        ("lead length", "remedy", "source"),
        tuple(remedies(site)),
        widths=(0.16, 0.52, 0.32),
    )
