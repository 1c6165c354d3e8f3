"""What is done where along each line: strings plugged, jumpers put in, wires joined, plus cut."""

from __future__ import annotations

from collections.abc import Iterator

from lumenmap.core.lengths import show_about, show_written
from lumenmap.drawing.document import Heading, Part, Table, Text
from lumenmap.power.circuit.places import SAME_POSITION
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
        yield Table("joints", columns, rows, widths=widths, csv_only=(0,), ticks=("done",))


def _rows(site: Site, line: str) -> list[tuple[str, str]]:
    own, long = site.places[line], _jumpers(site, line)
    plugs = [
        (c.wire, 0, tell(site, line, c), "plug the strings together")
        for c in own.connectors[1:-1]
        if own.pixel_before(c.wire) not in long
    ]
    plugs += [
        (
            float(own.wire[k - 1]) + SAME_POSITION,
            0,
            _between(site, line, k),
            _jumped(site, length, k),
        )
        for k, length in long.items()
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


def _jumpers(site: Site, line: str) -> dict[int, float]:
    """Return the jumpers of a line: their lengths (m) by how many pixels lie before them."""
    layout = next(x for x in site.line_layouts if x.line.name == line)
    return {run.first: run.jumper for run in layout.runs if run.jumper and run.first}


def _between(site: Site, line: str, before: int) -> str:
    along = site.places[line].along
    at = show_about(float(along[before - 1]), site.house.unit)
    edge = edge_at(site, line, float(along[before - 1]))
    return f"between pixels {before} and {before + 1}, at the end of {edge}, {at} along the line"


def _jumped(site: Site, length: float, before: int) -> str:
    """Say how a jumper is put in: between two strings, or into one that is cut for it."""
    size, text = site.house.string.pixels, f"jumper of {show_written(length, site.house.unit)}"
    if size is not None and before % size == 0:
        return f"put the {text} between the strings: plus, data and minus"
    return f"cut all wires of the string, and put in the {text}: plus, data and minus"


def tell_cut(site: Site, cut: Cut) -> str:
    """Say where a cut is."""
    along = show_about(cut.along, site.house.unit)
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
        long = show_written(lead.length, unit) + (", assumed" if lead.assumed else "")
        needs = "a resistor and a level shifter"
        if lead.balanced:
            needs = "a line driver and a receiver: it is too long for one wire"
        elif lead.repeats:
            has = "the line begins with one" if lead.repeater else "the line has none yet"
            needs += f", and a pixel that repeats the data ({has})"
        rows.append((lead.mark, str(lead.output), lead.line, long, needs))
    yield Table(
        "data-leads",
        ("mark", "output", "line", "lead to pixel 1", "needs"),
        tuple(rows),
        widths=(0.07, 0.09, 0.16, 0.17, 0.51),
    )
    yield Text("The usual remedies for long leads, and where each figure is from:")
    yield Table(
        "data-remedies",
        ("lead length", "remedy", "source"),
        tuple(remedies(site)),
        widths=(0.16, 0.52, 0.32),
    )
